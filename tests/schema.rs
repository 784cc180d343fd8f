//! The JSON Schemas: an independent validator takes every sound file by them and refuses what the
//! reader calls an unknown key; the file with every key is sound and leaves no key unread.

mod common;

use pourwright::Today;
use pourwright::view::schema::{EVERY_KEY, of_build, of_journal};
use pourwright::yaml::Taken;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_owned()
}

/// Places of keys that the reader knows and never saw a value of.
fn unread(taken: &Taken, at: &str, out: &mut Vec<String>) {
    for (key, under) in &taken.keys {
        let at = format!("{at}.{key}");
        if under.is_unread() {
            out.push(at.clone());
        }
        unread(under, &at, out);
    }
    for under in taken.ids.iter().chain(&taken.items) {
        unread(under, &format!("{at}.*"), out);
    }
}

#[test]
fn the_file_with_every_key_is_sound_and_shows_them_all() {
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 3, 1).expect("a day");
    let today = Today { asked: None, clock };
    let beside = |name: &str| std::fs::read(root().join("templates/full").join(name));
    let build = pourwright::read_beside(EVERY_KEY.into(), Vec::new(), today, &beside);
    assert!(
        build.is_ok(),
        "{:?}",
        build.err().map(|f| f.iter().map(|f| f.list.clone()).collect::<Vec<_>>())
    );
    let mut never = Vec::new();
    unread(&pourwright::manifest::taken(EVERY_KEY), "", &mut never);
    // Ramming, pouring and the like are done on no machine.
    never.retain(|at| !at.ends_with(".on"));
    assert!(never.is_empty(), "no value is shown of: {never:#?}");
}

#[test]
fn comments_of_that_file_describe_its_keys() {
    let schema = of_build();
    let wall = &schema["properties"]["parts"]["additionalProperties"]["properties"]["casting"]["properties"]
        ["wall"];
    assert_eq!(wall["description"], "ruling wall thickness");
    assert_eq!(schema["required"], json!(["build", "parts"]));
}

#[test]
fn an_independent_validator_agrees_with_the_reader() {
    let mut files: Vec<(&str, PathBuf)> = Vec::new();
    for build in
        ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"]
    {
        files.push(("build", root().join(build).join("build.yaml")));
        files.push(("journal", root().join(build).join("journal.yaml")));
    }
    for template in ["new", "full"] {
        files.push(("build", root().join("templates").join(template).join("build.yaml")));
    }
    files.retain(|(_, path)| path.exists());
    let sound = files.len();
    let mut faulty: Vec<PathBuf> = std::fs::read_dir(root().join("tests/faults"))
        .expect("the faults")
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    faulty.sort();
    for path in faulty {
        let journal = path.to_string_lossy().ends_with(".journal.yaml");
        files.push((if journal { "journal" } else { "build" }, path));
    }
    let asked: Vec<Value> =
        files.iter().map(|(schema, path)| json!({"schema": schema, "path": path})).collect();
    let schemas = json!({"build": of_build(), "journal": of_journal()});
    let question = json!({"schemas": schemas, "files": asked});
    let Some(told) = common::ask("JSON Schemas", "schema", &question) else { return };
    let (mut taken, mut refused) = (0, 0);
    for (nth, ((_, path), told)) in files.iter().zip(told.as_array().expect("a list")).enumerate() {
        let Some(faults) = told["faults"].as_array() else {
            assert!(nth >= sound, "{}: {told}", path.display());
            continue;
        };
        let faults: Vec<&str> = faults.iter().filter_map(Value::as_str).collect();
        let says = std::fs::read_to_string(path.with_extension("txt")).unwrap_or_default();
        let unknown = says.contains("[unknown-key]");
        // What lies beyond the form of a file, such as a name that nothing bears, no schema tells.
        let by_form =
            ["[unknown-key]", "[missing-key]", "[form]", "[word]", "[size]", "[unit]", "[bad-id]"];
        if nth < sound
            || !by_form.iter().any(|code| says.contains(code)) && !says.contains("[yaml]")
        {
            assert!(faults.is_empty(), "{}: {faults:?}", path.display());
            taken += 1;
        } else if unknown {
            assert!(!faults.is_empty(), "{}: taken, though a key is unknown", path.display());
            refused += 1;
        }
    }
    assert!(taken > 15 && refused > 5, "{taken} taken, {refused} refused");
}

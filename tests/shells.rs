//! Completions in the real shells, and the manual pages before a checker of such pages.

use std::path::Path;
use std::process::{Command, Stdio};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pourwright");

/// Whether a program is on the path; says what is left out where it is not.
fn there(test: &str, program: &str) -> bool {
    let mut run = Command::new(program);
    run.arg("--version").stdout(Stdio::null()).stderr(Stdio::null());
    let there = run.status().is_ok() || Path::new("/usr/bin").join(program).exists();
    if !there {
        eprintln!("left out: {test}: there is no {program}");
    }
    there
}

/// What a shell prints, with this program first on the path.
fn says(shell: &str, script: &str) -> String {
    let folder = Path::new(PROGRAM).parent().expect("a folder").display().to_string();
    let path = format!("{folder}:{}", std::env::var("PATH").unwrap_or_default());
    let out = Command::new(shell).args(["-c", script]).env("PATH", path).output().expect("it runs");
    assert!(out.status.success(), "{shell}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// Lines typed so far, and words that must and must not be offered.
const TYPED: [(&str, &[&str], &str); 5] = [
    ("pourwright es", &["estimate"], "bill"),
    ("pourwright estimate --build demo bull", &["bull-gear", "bull-gear-bush"], "ram"),
    ("pourwright why --build demo bull-gear char", &["charge"], "cope-lift"),
    ("pourwright charge --build demo ZA", &["ZA-12"], "A356"),
    ("pourwright sheet mould --build demo ram", &["ram", "ram-gib"], "base"),
];

#[test]
fn bash_completes_commands_and_names_of_the_build() {
    if !there("bash_completes_commands_and_names_of_the_build", "bash") {
        return;
    }
    for (typed, wanted, other) in TYPED {
        let script = format!(
            "source <(pourwright completions bash); COMP_WORDS=({typed}); \
             COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1)); COMP_TYPE=9; \
             _clap_complete_pourwright pourwright \"${{COMP_WORDS[COMP_CWORD]}}\"; \
             printf '%s\\n' \"${{COMPREPLY[@]}}\""
        );
        offered(&says("bash", &script), typed, wanted, other);
    }
}

#[test]
fn fish_completes_commands_and_names_of_the_build() {
    if !there("fish_completes_commands_and_names_of_the_build", "fish") {
        return;
    }
    for (typed, wanted, other) in TYPED {
        let script = format!("pourwright completions fish | source; complete -C '{typed}'");
        offered(&says("fish", &script), typed, wanted, other);
    }
}

/// The registration is loaded by the real zsh; what it offers is asked as its function asks.
#[test]
fn zsh_takes_its_completions() {
    if !there("zsh_takes_its_completions", "zsh") {
        return;
    }
    let script = "autoload -U compinit; compinit -D; source <(pourwright completions zsh); \
                  print ${_comps[pourwright]}";
    assert!(says("zsh", script).contains("pourwright"));
}

fn offered(answer: &str, typed: &str, wanted: &[&str], other: &str) {
    let words: Vec<&str> =
        answer.lines().map(|l| l.split('\t').next().unwrap_or(l).trim()).collect();
    for word in wanted {
        assert!(words.contains(word), "`{typed}` does not offer {word}: {answer}");
    }
    assert!(!words.contains(&other), "`{typed}` offers {other}: {answer}");
}

#[test]
fn powershell_gets_its_lines() {
    let out = Command::new(PROGRAM).args(["completions", "powershell"]).output().expect("it runs");
    let lines = String::from_utf8_lossy(&out.stdout);
    assert!(lines.contains("Register-ArgumentCompleter"), "{lines}");
}

#[test]
fn each_command_has_a_manual_page_that_mandoc_reads() {
    const TEST: &str = "each_command_has_a_manual_page_that_mandoc_reads";
    let folder = tempfile::tempdir().expect("a folder");
    let run = Command::new(PROGRAM).arg("manual").arg(folder.path()).output().expect("it runs");
    assert!(run.status.success());
    let pages: Vec<_> = std::fs::read_dir(folder.path()).expect("there").flatten().collect();
    for command in ["", "-estimate", "-log-poured", "-sheet-mould"] {
        let page = folder.path().join(format!("pourwright{command}.1"));
        let text = std::fs::read_to_string(&page).expect("a page");
        assert!(text.contains(".SH SYNOPSIS"), "{text}");
    }
    if !there(TEST, "mandoc") {
        return;
    }
    for page in pages {
        let mut lint = Command::new("mandoc");
        lint.args(["-T", "lint", "-W", "error"]).arg(page.path());
        let out = lint.output().expect("it runs");
        let says = String::from_utf8_lossy(&out.stdout).into_owned();
        assert!(out.status.success(), "{}: {says}", page.path().display());
    }
}

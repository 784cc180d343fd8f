//! Help for the tests that ask a reference library.

use serde_json::Value;
use sha2::{Digest, Sha256};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Asks a script under tests/reference: JSON in, JSON out. What it answered to the same question
/// before is kept, and stands while the scripts and their libraries are the same. None, said aloud,
/// where the test command could not install Python's libraries.
pub fn ask(test: &str, script: &str, question: &Value) -> Option<Value> {
    let Some(python) = std::env::var_os("POURWRIGHT_PYTHON") else {
        eprintln!("left out: {test}: POURWRIGHT_PYTHON is not set");
        return None;
    };
    let question = question.to_string();
    let kept = answer_to(script, &question);
    if let Some(answer) = fs::read(&kept).ok().and_then(|text| serde_json::from_slice(&text).ok()) {
        return Some(answer);
    }
    let mut child = Command::new(python)
        .arg(format!("tests/reference/{script}.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("POURWRIGHT_PYTHON names a Python");
    let mut to = child.stdin.take().expect("a pipe");
    to.write_all(question.as_bytes()).expect("it listens");
    drop(to);
    let out = child.wait_with_output().expect("it ends");
    assert!(out.status.success(), "tests/reference/{script}.py failed");
    let answer = serde_json::from_slice(&out.stdout).expect("JSON");
    keep(&kept, &out.stdout);
    Some(answer)
}

/// The file in which the answer of a script to a question is kept.
fn answer_to(script: &str, question: &str) -> PathBuf {
    let mut hash = Sha256::new();
    let mut files: Vec<PathBuf> = fs::read_dir("tests/reference")
        .expect("scripts")
        .map(|f| f.expect("a file").path())
        .collect();
    files.sort();
    for file in files.iter().filter(|f| f.is_file()) {
        hash.update(fs::read(file).expect("a script"));
    }
    hash.update(question);
    let hash: String = hash.finalize().iter().take(12).map(|b| format!("{b:02x}")).collect();
    let answers = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/reference/answers");
    answers.join(format!("{script}-{hash}.json"))
}

/// Keeps an answer whole or not at all: other tests may ask the same at the same time.
fn keep(path: &Path, answer: &[u8]) {
    let folder = path.parent().expect("a folder");
    fs::create_dir_all(folder).expect("a folder for answers");
    let mut file = tempfile::NamedTempFile::new_in(folder).expect("a file");
    file.write_all(answer).expect("written");
    file.persist(path).expect("kept");
}

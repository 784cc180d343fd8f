//! Help for the tests that ask a reference library.

use serde_json::Value;
use std::io::Write;
use std::process::{Command, Stdio};

/// Asks a script under tests/reference: JSON in, JSON out. None, said aloud, where the test
/// command could not install Python's libraries.
pub fn ask(test: &str, script: &str, question: &Value) -> Option<Value> {
    let Some(python) = std::env::var_os("POURWRIGHT_PYTHON") else {
        eprintln!("left out: {test}: POURWRIGHT_PYTHON is not set");
        return None;
    };
    let mut child = Command::new(python)
        .arg(format!("tests/reference/{script}.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("POURWRIGHT_PYTHON names a Python");
    let mut to = child.stdin.take().expect("a pipe");
    to.write_all(question.to_string().as_bytes()).expect("it listens");
    drop(to);
    let out = child.wait_with_output().expect("it ends");
    assert!(out.status.success(), "tests/reference/{script}.py failed");
    Some(serde_json::from_slice(&out.stdout).expect("JSON"))
}

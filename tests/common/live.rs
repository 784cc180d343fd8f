//! The live view as a process; each test asks some of it.

#![allow(dead_code)]

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

pub struct Live {
    child: Child,
    pub address: SocketAddr,
    pub dir: tempfile::TempDir,
    said: Arc<Mutex<String>>,
}

impl Drop for Live {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Live {
    /// `report --watch` with these arguments on a copy of the smallest build, with a journal.
    pub fn start(arguments: &[&str], journal: &str) -> Self {
        let dir = tempfile::tempdir().expect("a folder");
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("projects/filing-machine/build.yaml");
        fs::copy(from, dir.path().join("build.yaml")).expect("a copy");
        if !journal.is_empty() {
            fs::write(dir.path().join("journal.yaml"), journal).expect("a journal");
        }
        let mut child = Command::new(env!("CARGO_BIN_EXE_pourwright"))
            .args(["report", "--watch", "--build"])
            .arg(dir.path())
            .args(arguments)
            .env("LC_ALL", "C.UTF-8")
            .stdout(Stdio::piped())
            .spawn()
            .expect("pourwright runs");
        let mut out = BufReader::new(child.stdout.take().expect("a pipe"));
        let mut line = String::new();
        out.read_line(&mut line).expect("a line");
        let address = line.strip_prefix("http://").and_then(|l| l.split('/').next());
        let address = address.and_then(|a| a.parse().ok()).unwrap_or_else(|| panic!("{line}"));
        let said = Arc::new(Mutex::new(line));
        let to = said.clone();
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                *to.lock().expect("held") += &format!("{line}\n");
            }
        });
        Self { child, address, dir, said }
    }

    /// What stands at the terminal once it holds these words.
    pub fn said(&self, words: &str) -> String {
        let start = Instant::now();
        loop {
            let said = self.said.lock().expect("held").clone();
            if said.contains(words) {
                return said;
            }
            assert!(start.elapsed() < Duration::from_secs(60), "`{words}` never came: {said}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// What the server answers to raw bytes.
    pub fn raw(&self, request: &str) -> String {
        let mut stream = TcpStream::connect(self.address).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a limit");
        // A request that is refused early need not be read whole.
        let _ = stream.write_all(request.as_bytes());
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        String::from_utf8_lossy(&answer).into_owned()
    }

    pub fn ask(&self, method: &str, path: &str, host: &str) -> String {
        self.raw(&format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"))
    }

    pub fn get(&self, path: &str) -> String {
        self.ask("GET", path, &self.address.to_string())
    }

    /// Waits until a page says this.
    pub fn until(&self, path: &str, words: &str) -> String {
        let start = Instant::now();
        loop {
            let page = self.get(path);
            if page.contains(words) {
                return page;
            }
            assert!(start.elapsed() < Duration::from_secs(60), "`{words}` never came: {page}");
            std::thread::sleep(Duration::from_millis(100));
        }
    }

    pub fn journal(&self) -> String {
        fs::read_to_string(self.dir.path().join("journal.yaml")).unwrap_or_default()
    }
}

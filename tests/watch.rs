//! The live view, as a process: it follows the files, tells faults, and is for this machine only.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

struct Live {
    child: Child,
    port: u16,
    dir: tempfile::TempDir,
}

impl Drop for Live {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Live {
    fn start() -> Self {
        let dir = tempfile::tempdir().expect("a folder");
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("projects/filing-machine/build.yaml");
        fs::copy(from, dir.path().join("build.yaml")).expect("a copy");
        let mut child = Command::new(env!("CARGO_BIN_EXE_pourwright"))
            .args(["report", "--watch", "--build"])
            .arg(dir.path())
            .stdout(Stdio::piped())
            .spawn()
            .expect("pourwright runs");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("a pipe")).read_line(&mut line).expect("a line");
        let port = line.strip_prefix("http://127.0.0.1:").and_then(|l| l.split('/').next());
        let port = port.and_then(|p| p.parse().ok()).unwrap_or_else(|| panic!("{line}"));
        Self { child, port, dir }
    }

    /// What the server answers to raw bytes.
    fn raw(&self, request: &str) -> String {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a limit");
        stream.write_all(request.as_bytes()).expect("it reads");
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        String::from_utf8_lossy(&answer).into_owned()
    }

    fn ask(&self, method: &str, path: &str, host: &str) -> String {
        self.raw(&format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"))
    }

    fn get(&self, path: &str) -> String {
        self.ask("GET", path, &format!("127.0.0.1:{}", self.port))
    }

    /// Waits until the report says this.
    fn until(&self, words: &str) -> String {
        let start = Instant::now();
        loop {
            let page = self.get("/report");
            if page.contains(words) {
                return page;
            }
            assert!(start.elapsed() < Duration::from_secs(60), "`{words}` never came: {page}");
            std::thread::sleep(Duration::from_millis(100));
        }
    }

    fn version(&self) -> u64 {
        let answer = self.get("/version");
        let body = answer.split("\r\n\r\n").nth(1).unwrap_or_default();
        body.trim().parse().unwrap_or_else(|_| panic!("{answer}"))
    }
}

#[test]
fn it_follows_the_files_and_tells_faults() {
    let live = Live::start();
    let manifest = live.dir.path().join("build.yaml");
    let text = fs::read_to_string(&manifest).expect("a manifest");
    let title = text.lines().find_map(|l| l.trim().strip_prefix("title: ")).expect("a title");
    assert!(live.until(title).contains("How far"));
    assert!(live.get("/").contains("<iframe src=\"/report\""));
    let first = live.version();

    fs::write(&manifest, text.replace(title, "Another <name> of it")).expect("written");
    live.until("Another &lt;name&gt; of it");
    let second = live.version();
    assert!(second > first);

    fs::write(&manifest, text.replace("units: us", "units: <script>cubits</script>")).expect("ok");
    let page = live.until("The build has faults");
    assert!(page.contains("build.yaml:") && page.contains("&lt;script&gt;"), "{page}");
    assert!(!page.contains("<script>cubits"), "{page}");

    fs::remove_file(&manifest).expect("removed");
    live.until("no build.yaml in");

    fs::write(&manifest, &text).expect("written");
    live.until("How far");
    let journal = "---\nid: a\nat: 2026-10-01 10:00\nnote: {says: \"a note of today\"}\n";
    fs::write(live.dir.path().join("journal.yaml"), journal).expect("written");
    live.until("a note of today");
    assert!(live.version() > second);
    let there = fs::read_dir(live.dir.path()).expect("a folder");
    let mut names: Vec<_> = there.map(|f| f.expect("a file").file_name()).collect();
    names.sort();
    // The plan in force is kept; nothing else is written beside the files.
    assert_eq!(names, [".plan.json", "build.yaml", "journal.yaml"]);
}

#[test]
fn it_is_for_this_machine_only() {
    let live = Live::start();
    live.until("How far");
    let port = live.port;
    let own = format!("127.0.0.1:{port}");
    assert!(live.ask("GET", "/report", &format!("localhost:{port}")).starts_with("HTTP/1.1 200"));
    // Another name that leads to this machine is a page elsewhere (DNS rebinding).
    for host in ["evil.example", &format!("evil.example:{port}"), "127.0.0.1", "", "127.0.0.1:1"] {
        let answer = live.ask("GET", "/report", host);
        assert!(!answer.contains("How far"), "{host}");
        assert!(answer.starts_with("HTTP/1.1 4"), "{host}: {answer}");
    }
    let twice = format!(
        "GET /report HTTP/1.1\r\nHost: {own}\r\nHost: evil.example\r\nConnection: close\r\n\r\n"
    );
    assert!(!live.raw(&twice).contains("How far"));
    assert!(!live.raw("GET /report HTTP/1.1\r\nConnection: close\r\n\r\n").contains("How far"));
    for method in ["POST", "PUT", "DELETE", "OPTIONS", "PATCH"] {
        assert!(live.ask(method, "/report", &own).starts_with("HTTP/1.1 405"), "{method}");
    }
    for path in
        ["/build.yaml", "/journal.yaml", "/../build.yaml", "/report/", "/report?x", "//", "*"]
    {
        let answer = live.ask("GET", path, &own);
        assert!(answer.starts_with("HTTP/1.1 4"), "{path}: {answer}");
        assert!(!answer.contains("patterns:"), "{path}");
    }
    for path in ["/", "/report", "/version"] {
        let answer = live.get(path).to_lowercase();
        for header in ["content-security-policy:", "x-content-type-options: nosniff"] {
            assert!(answer.contains(header), "{path}: {header}");
        }
        assert!(!answer.contains("access-control-allow-origin"), "{path}");
    }
    // Only the loopback address listens.
    let others = ["hostname", "-I"];
    let out = Command::new(others[0]).arg(others[1]).output();
    let list = out.map(|o| String::from_utf8_lossy(&o.stdout).into_owned()).unwrap_or_default();
    for address in list.split_whitespace().filter(|a| !a.contains(':') && *a != "127.0.0.1") {
        let to = format!("{address}:{port}").parse().expect("an address");
        let tried = TcpStream::connect_timeout(&to, Duration::from_secs(2));
        assert!(tried.is_err(), "{address} listens too");
    }
}

//! The live view, as a process: it follows the files, tells faults, and is for this machine only.

#[path = "common/live.rs"]
mod live;
#[path = "common/pictures.rs"]
mod pictures;

use live::Live;
use std::fs;
use std::io::Write;
use std::net::TcpStream;
use std::process::Command;
use std::time::{Duration, Instant};

fn version(live: &Live) -> u64 {
    let answer = live.get("/version");
    let body = answer.split("\r\n\r\n").nth(1).unwrap_or_default();
    let json: serde_json::Value =
        serde_json::from_str(body).unwrap_or_else(|e| panic!("{e}: {answer}"));
    json["version"].as_u64().expect("a number")
}

#[test]
fn it_follows_the_files_and_tells_faults() {
    let live = Live::start(&[], "");
    let manifest = live.dir.path().join("build.yaml");
    let text = fs::read_to_string(&manifest).expect("a manifest");
    let title = text.lines().find_map(|l| l.trim().strip_prefix("title: ")).expect("a title");
    assert!(live.until("/report", title).contains("How far"));
    assert!(live.get("/").contains("<iframe src=\"/report\""));
    let first = version(&live);

    fs::write(&manifest, text.replace(title, "Another <name> of it")).expect("written");
    live.until("/report", "Another &lt;name&gt; of it");
    let second = version(&live);
    assert!(second > first);

    fs::write(&manifest, text.replace("units: us", "units: <script>cubits</script>")).expect("ok");
    // The last sound report stays; the faults are told beside it, as data and not as a page.
    let told = live.until("/version", "<script>cubits");
    assert!(
        told.contains("build.yaml:") && told.contains("Content-Type: application/json"),
        "{told}"
    );
    let page = live.get("/report");
    assert!(page.contains("Another &lt;name&gt; of it") && !page.contains("cubits"), "{page}");

    fs::remove_file(&manifest).expect("removed");
    live.until("/version", "no build.yaml in");

    fs::write(&manifest, &text).expect("written");
    live.until("/version", "\"faults\":null");
    let journal = "---\nid: a\nat: 2026-10-01 10:00\nnote: {says: \"a note of today\"}\n";
    fs::write(live.dir.path().join("journal.yaml"), journal).expect("written");
    live.until("/report", "a note of today");
    assert!(version(&live) > second);
    let there = fs::read_dir(live.dir.path()).expect("a folder");
    let mut names: Vec<_> = there.map(|f| f.expect("a file").file_name()).collect();
    names.sort();
    // The plan in force is kept; nothing else is written beside the files.
    assert_eq!(names, [".plan.json", "build.yaml", "journal.yaml"]);
}

#[test]
fn it_is_for_this_machine_only() {
    let live = Live::start(&[], "");
    live.until("/report", "How far");
    let port = live.address.port();
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
        // Not of our own pages; and where it is, there is nothing to write.
        assert!(live.ask(method, "/report", &own).starts_with("HTTP/1.1 403"), "{method}");
        let from =
            format!("{method} /report HTTP/1.1\r\nHost: {own}\r\nOrigin: http://{own}\r\n\r\n");
        assert!(live.raw(&from).starts_with("HTTP/1.1 405"), "{method}");
    }
    for path in ["/log", "/log.js", "/log/forms"] {
        assert!(live.get(path).starts_with("HTTP/1.1 404"), "{path} is there unasked");
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

#[test]
fn cwe_400_one_slow_reader_holds_nobody_up_and_headers_are_bounded() {
    let live = Live::start(&[], "");
    live.until("/report", "How far");
    let connect = || TcpStream::connect(("127.0.0.1", live.address.port())).expect("it listens");
    // Some never end their request, some never read their answer.
    let mut slow: Vec<TcpStream> = (0..10).map(|_| connect()).collect();
    for (i, stream) in slow.iter_mut().enumerate() {
        let host = format!("Host: 127.0.0.1:{}\r\n", live.address.port());
        let request = match i % 2 {
            0 => format!("GET /report HTTP/1.1\r\n{host}"),
            _ => format!("GET /report HTTP/1.1\r\n{host}\r\n"),
        };
        stream.write_all(request.as_bytes()).expect("it reads");
    }
    let started = Instant::now();
    assert!(live.get("/version").starts_with("HTTP/1.1 200"));
    assert!(started.elapsed() < Duration::from_secs(5), "{:?}", started.elapsed());
    // A header without an end is cut short, not gathered.
    let mut endless = connect();
    endless.set_write_timeout(Some(Duration::from_secs(10))).expect("a limit");
    let _ = endless.write_all(b"GET / HTTP/1.1\r\nX: ");
    let mut sent = 0;
    while sent < 64 << 20 && endless.write_all(&[b'x'; 4096]).is_ok() {
        sent += 4096;
    }
    assert!(sent < 16 << 20, "{sent} bytes of one header were taken");
    assert!(live.get("/version").starts_with("HTTP/1.1 200"));
}

#[test]
fn meshes_and_the_plan_are_followed_and_a_folder_that_comes_back() {
    let live = Live::start(&[], "");
    live.until("/report", "How far");
    let folder = live.dir.path();
    let manifest = fs::read_to_string(folder.join("build.yaml")).expect("a manifest");
    // A mesh that is not there is a fault; when it comes, the page is made anew.
    let with = manifest.replacen("casting:\n", "casting:\n      mesh: {file: new.stl}\n", 1);
    let with = if with == manifest {
        manifest.replacen("casting: {", "casting: {mesh: {file: new.stl}, ", 1)
    } else {
        with
    };
    assert_ne!(with, manifest);
    fs::write(folder.join("build.yaml"), with).expect("written");
    live.until("/version", "new.stl");
    let before = live.get("/version");
    fs::write(folder.join("new.stl"), "solid x\nendsolid x\n").expect("a mesh");
    let started = Instant::now();
    while live.get("/version") == before {
        assert!(started.elapsed() < Duration::from_secs(60), "the mesh is not followed");
        std::thread::sleep(Duration::from_millis(100));
    }
    // A photo that the journal names is shown when it comes.
    fs::write(folder.join("build.yaml"), &manifest).expect("written");
    let note = "---\nid: a\nat: 2026-10-01 10:00\nnote: {says: seen, photo: new.png}\n";
    fs::write(folder.join("journal.yaml"), note).expect("written");
    assert!(!live.until("/report", "seen").contains("data:image/jpeg"));
    // The plan is kept anew with the page, and is followed itself: only then is nothing else to come.
    std::thread::sleep(Duration::from_secs(5));
    fs::write(folder.join("new.png"), pictures::png(8, 8, |_, _| [0; 3])).expect("a photo");
    live.until("/report", "data:image/jpeg");
    fs::remove_file(folder.join("journal.yaml")).expect("removed");
    // The folder goes, and another comes in its place.
    let aside = folder.with_extension("aside");
    fs::rename(folder, &aside).expect("renamed");
    live.until("/version", "no build.yaml in");
    fs::create_dir(folder).expect("a folder");
    fs::write(folder.join("build.yaml"), &manifest).expect("written");
    live.until("/version", "\"faults\":null");
    fs::remove_dir_all(&aside).expect("removed");
}

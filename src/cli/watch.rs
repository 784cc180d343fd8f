//! The live view: the report on a page of this machine that follows the files.

use super::serve::{Answer, Request, serve};
use super::{Common, Done, Stop, load, page, terminal};
use std::fs::Metadata;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, SystemTime};

/// How often the files are looked at. Times and sizes of a few files are nothing to read, and
/// unlike messages of the system they are right on every file system.
const LOOK: Duration = Duration::from_millis(300);

/// The page around the report: it asks which version there is and loads the new one.
const FRAME: &str = include_str!("../../templates/watch.html");
/// What may run on that page.
const FRAME_MAY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; frame-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// What may run in the report: what its own policy lets, and it may stand in our page only.
const REPORT_MAY: &str = "frame-ancestors 'self'";

/// The page as it is now, and which one that is.
#[derive(Debug)]
struct Shown {
    html: Arc<str>,
    version: u64,
}

type Shared = Arc<Mutex<Shown>>;

fn held(shared: &Shared) -> std::sync::MutexGuard<'_, Shown> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Serves the report on loopback until the process is ended.
pub fn run(common: &Common, port: u16) -> Done {
    let told = |e| Stop::Fault(format!("port {port} on this machine: {e}"));
    let listener = TcpListener::bind(("127.0.0.1", port)).map_err(told)?;
    let port = listener.local_addr().map_err(told)?.port();
    // By its whole path: a folder that goes and comes back is found again.
    let build = std::path::absolute(&common.build).map_err(Stop::fault)?;
    let of = Common { build, ..common.clone() };
    let shared: Shared = Arc::new(Mutex::new(Shown { html: page(&of).into(), version: 1 }));
    let to = shared.clone();
    terminal::print(&format!("http://127.0.0.1:{port}/ shows the build; Ctrl-C ends it\n"))
        .map_err(Stop::fault)?;
    std::thread::spawn(move || follow(&of, &to));
    serve(&listener, move |request| answer(request, port, &shared));
    Ok(String::new())
}

/// Files of a build: manifest, journal and plan, meshes and photos.
const FOLLOWED: [&str; 8] = ["yaml", "json", "stl", "obj", "3mf", "jpg", "jpeg", "png"];
/// More files, or folders within each other, are not followed.
const MOST_FILES: usize = 5_000;
const MOST_DEEP: usize = 5;

/// A file with its time and size.
type State = (PathBuf, Option<SystemTime>, u64);

/// What lies in a folder and below it, by name.
fn states(folder: &Path, deep: usize, out: &mut Vec<State>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    let mut paths: Vec<PathBuf> = entries.flatten().map(|e| e.path()).collect();
    paths.sort();
    for path in paths {
        if out.len() >= MOST_FILES {
            return;
        }
        if path.is_dir() && !path.is_symlink() {
            if deep < MOST_DEEP {
                states(&path, deep + 1, out);
            }
            continue;
        }
        let kind = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        if kind.is_some_and(|kind| FOLLOWED.contains(&&*kind)) {
            let of = |m: Metadata| (m.modified().ok(), m.len());
            let (at, size) = path.metadata().map_or((None, 0), of);
            out.push((path, at, size));
        }
    }
}

/// Makes the page anew when a file changes.
fn follow(common: &Common, shared: &Shared) {
    let look = || {
        let mut out = Vec::new();
        states(&common.build, 0, &mut out);
        out
    };
    // What the first page was made of may have changed meanwhile: it is made again once.
    let mut seen = None;
    loop {
        let now = look();
        if seen.as_ref() != Some(&now) {
            let html = page(common);
            let mut shown = held(shared);
            if *shown.html != *html {
                *shown = Shown { html: html.into(), version: shown.version + 1 };
            }
            seen = Some(now);
        }
        std::thread::sleep(LOOK);
    }
}

/// The report, or the faults as a page.
fn page(common: &Common) -> String {
    let made = load::planned(common, None).and_then(|all| page::page(common, &all));
    match made {
        Ok((html, _)) => html,
        Err(Stop::Fault(says) | Stop::Usage(says)) => faults(&says),
    }
}

fn faults(says: &str) -> String {
    let says = says.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    include_str!("../../templates/watch-faults.html").replace("@FAULTS@", &says)
}

/// Whether a request names this machine: another name that leads here is a page elsewhere that
/// would read the build.
fn ours(request: &Request, port: u16) -> bool {
    let known = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    matches!(&request.hosts[..], [host] if known.contains(host))
}

fn answer(request: &Request, port: u16, shared: &Shared) -> Answer {
    const HTML: &str = "text/html; charset=utf-8";
    const TEXT: &str = "text/plain; charset=utf-8";
    let (status, kind, may, body) = if !ours(request, port) {
        (421, TEXT, FRAME_MAY, "this page is for this machine only\n".into())
    } else if request.method != "GET" {
        (405, TEXT, FRAME_MAY, "there is nothing to write here\n".into())
    } else {
        match &*request.path {
            "/" => (200, HTML, FRAME_MAY, FRAME.into()),
            "/report" => (200, HTML, REPORT_MAY, held(shared).html.clone()),
            "/version" => (200, TEXT, FRAME_MAY, held(shared).version.to_string().into()),
            _ => (404, TEXT, FRAME_MAY, "nothing here; the report is at /\n".into()),
        }
    };
    let headers = vec![
        ("Content-Type", kind),
        ("Content-Security-Policy", may),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
    ];
    Answer { status, headers, body }
}

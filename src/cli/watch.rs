//! The live view: the report on a page of this machine that follows the files.

use super::{Common, Done, Stop, load, page};
use crate::{JOURNAL, MANIFEST};
use std::fs::Metadata;
use std::io::Write;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, SystemTime};
use tiny_http::{Header, Method, Request, Response, Server};

/// How often the files are looked at. Times and sizes of two files are nothing to read, and unlike
/// messages of the system they are right on every file system.
const LOOK: Duration = Duration::from_millis(300);

/// The page around the report: it asks which version there is and loads the new one.
const FRAME: &str = include_str!("../../templates/watch.html");
/// What may run on that page.
const FRAME_MAY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; frame-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// What may run in the report: what its own policy lets, and it may stand in our page only.
const REPORT_MAY: &str = "frame-ancestors 'self'";

/// The page as it is now, and which one that is.
#[derive(Debug, Default)]
struct Shown {
    html: String,
    version: u64,
}

type Shared = Arc<Mutex<Shown>>;

fn held(shared: &Shared) -> std::sync::MutexGuard<'_, Shown> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Serves the report on loopback until the process is ended.
pub fn run(common: &Common, port: u16) -> Done {
    let server = Server::http(("127.0.0.1", port))
        .map_err(|e| Stop::Fault(format!("port {port} on this machine: {e}")))?;
    let port = server.server_addr().to_ip().map_or(port, |a| a.port());
    let shared = Shared::default();
    let (to, of) = (shared.clone(), common.clone());
    *held(&shared) = Shown { html: page(common), version: 1 };
    let mut out = std::io::stdout().lock();
    let told = writeln!(out, "http://127.0.0.1:{port}/ shows the build; Ctrl-C ends it");
    told.and_then(|()| out.flush()).map_err(Stop::fault)?;
    drop(out);
    std::thread::spawn(move || follow(&of, &to));
    for request in server.incoming_requests() {
        answer(request, port, &shared);
    }
    Ok(String::new())
}

/// Time and size of a file; none where it is not there.
fn state(path: &Path) -> Option<(SystemTime, u64)> {
    let of = |m: Metadata| Some((m.modified().ok()?, m.len()));
    std::fs::metadata(path).ok().and_then(of)
}

/// Makes the page anew when a file changes.
fn follow(common: &Common, shared: &Shared) {
    let look = || [MANIFEST, JOURNAL].map(|name| state(&common.build.join(name)));
    // What the first page was made of may have changed meanwhile: it is made again once.
    let mut seen = None;
    loop {
        let now = look();
        if seen != Some(now) {
            let html = page(common);
            let mut shown = held(shared);
            if shown.html != html {
                *shown = Shown { html, version: shown.version + 1 };
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
    let mut hosts = request.headers().iter().filter(|h| h.field.equiv("Host"));
    let host = hosts.next().map(|h| h.value.as_str().to_owned());
    let known = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    hosts.next().is_none() && host.is_some_and(|h| known.contains(&h))
}

fn answer(request: Request, port: u16, shared: &Shared) {
    const HTML: &str = "text/html; charset=utf-8";
    const TEXT: &str = "text/plain; charset=utf-8";
    let (status, kind, may, body) = if !ours(&request, port) {
        (421, TEXT, FRAME_MAY, "this page is for this machine only\n".to_owned())
    } else if *request.method() != Method::Get {
        (405, TEXT, FRAME_MAY, "there is nothing to write here\n".to_owned())
    } else {
        match request.url() {
            "/" => (200, HTML, FRAME_MAY, FRAME.to_owned()),
            "/report" => (200, HTML, REPORT_MAY, held(shared).html.clone()),
            "/version" => (200, TEXT, FRAME_MAY, held(shared).version.to_string()),
            _ => (404, TEXT, FRAME_MAY, "nothing here; the report is at /\n".to_owned()),
        }
    };
    let headers = [
        ("Content-Type", kind),
        ("Content-Security-Policy", may),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
    ];
    let mut response = Response::from_string(body).with_status_code(status);
    for (name, value) in headers {
        if let Ok(header) = Header::from_bytes(name, value) {
            response.add_header(header);
        }
    }
    // A browser that went away is no fault of ours.
    let _ = request.respond(response);
}

//! The live view: the report on a page that follows the files and, where that is asked for, a page
//! for writing down what happens beside the furnace.

use super::door::Door;
use super::serve::{Answer, Body, Request, serve};
use super::{Common, Done, Stop, load, log, page, terminal};
use std::fs::Metadata;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, SystemTime};

/// How often the files are looked at. Times and sizes of a few files are nothing to read, and
/// unlike messages of the system they are right on every file system.
const LOOK: Duration = Duration::from_millis(300);
/// The port of the page for writing down: what a phone has not sent yet is kept under the address.
const LOG_PORT: u16 = 8740;
/// Bytes of an entry with its picture.
const MOST_SENT: usize = 8 << 20;
/// Bytes of a code.
const MOST_CODE: usize = 64;

/// The page around the report: it asks which version there is and loads the new one.
const FRAME: &str = include_str!("../../templates/watch.html");
const FRAME_STYLE: &str = include_str!("../../templates/watch.css");
const FRAME_SCRIPT: &str = include_str!("../../templates/watch.js");
/// The page for writing down.
const LOG: &str = include_str!("../../templates/log.html");
const LOG_STYLE: &str = include_str!("../../templates/log.css");
const LOG_SCRIPT: &str = include_str!("../../templates/log.js");
/// What may run on our own pages: what they have from here.
const OURS_MAY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src blob:; frame-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// What may run in the report: what its own policy lets, and it may stand in our page only.
const REPORT_MAY: &str = "frame-ancestors 'self'";

/// How the live view is served.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct Options {
    /// With --watch: port of that page (default: any free one; with --log 8740)
    #[arg(long, requires = "watch")]
    port: Option<u16>,
    /// With --watch: a page for writing down what happens, for a phone beside the furnace
    #[arg(long, requires = "watch")]
    log: bool,
    /// With --log: address of this machine in your own network; each phone is paired by a code
    #[arg(long, requires = "log", value_name = "ADDRESS")]
    address: Option<IpAddr>,
}

/// What there is to show.
#[derive(Debug, Default)]
struct Shown {
    /// The last page of a sound build; before there was one, the faults.
    html: Arc<str>,
    version: u64,
    /// What is wrong with the build as it is now.
    faults: Option<String>,
    /// What can be written down, and which version of it that is.
    forms: Option<Arc<str>>,
    forms_version: u64,
}

type Shared = Arc<Mutex<Shown>>;

fn held<T>(shared: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Serves the report until the process is ended.
pub fn run(common: &Common, args: Options) -> Done {
    let ip = args.address.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
    if ip.is_unspecified() || ip.is_multicast() {
        return Err(Stop::Usage(format!(
            "{ip} is every address at once; give the one that this machine has in your network, such as 192.168.1.20"
        )));
    }
    let port = args.port.unwrap_or(if args.log { LOG_PORT } else { 0 });
    let told = |e| Stop::Fault(format!("{}: {e}", SocketAddr::new(ip, port)));
    let listener = TcpListener::bind((ip, port)).map_err(told)?;
    let address = listener.local_addr().map_err(told)?;
    let door = Door::new(address).map_err(Stop::Fault)?;
    // By its whole path: a folder that goes and comes back is found again.
    let build = std::path::absolute(&common.build).map_err(Stop::fault)?;
    let of = Common { build, ..common.clone() };
    let shared = Shared::default();
    show(&of, args.log, &shared);
    terminal::print(&format!("http://{address}/ shows the build; Ctrl-C ends it\n"))
        .map_err(Stop::fault)?;
    let live = Live { common: of.clone(), door, address, log: args.log, shared: shared.clone() };
    live.tell()?;
    std::thread::spawn(move || follow(&of, args.log, &shared));
    serve(&listener, move |request, body| live.answer(request, body));
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
fn follow(common: &Common, log: bool, shared: &Shared) {
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
            show(common, log, shared);
            seen = Some(now);
        }
        std::thread::sleep(LOOK);
    }
}

/// Makes the pages as the files are now; where they have faults, the last good page stays and the
/// faults are told beside it.
fn show(common: &Common, log: bool, shared: &Shared) {
    let made = load::planned(common, None).and_then(|all| {
        if log {
            let forms = serde_json::to_string(&log::Forms::of(&all)).map_err(Stop::fault)?;
            let mut shown = held(shared);
            if shown.forms.as_deref() != Some(&forms) {
                shown.forms = Some(forms.into());
                shown.forms_version += 1;
            }
        }
        page::page(common, &all)
    });
    let mut shown = held(shared);
    match made {
        Ok((html, _)) => {
            if *shown.html != *html {
                shown.html = html.into();
                shown.version += 1;
            }
            shown.faults = None;
        }
        Err(stop) => {
            let says = stop.says().to_owned();
            if shown.html.is_empty() {
                shown.html = include_str!("../../templates/watch-faults.html").into();
            }
            shown.faults = Some(says);
        }
    }
}

/// One live view.
#[derive(Debug)]
struct Live {
    common: Common,
    door: Door,
    address: SocketAddr,
    log: bool,
    shared: Shared,
}

const HTML: &str = "text/html; charset=utf-8";
const TEXT: &str = "text/plain; charset=utf-8";
const JSON: &str = "application/json";
const STYLE: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";

fn given(status: u16, kind: &str, body: impl Into<Arc<str>>) -> Answer {
    let headers = [
        ("Content-Type", kind),
        ("Content-Security-Policy", OURS_MAY),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
        ("Cross-Origin-Opener-Policy", "same-origin"),
    ];
    let headers = headers.map(|(name, value)| (name, value.to_owned())).into();
    Answer { status, headers, body: body.into() }
}

fn told(status: u16, says: &str) -> Answer {
    given(status, TEXT, says)
}

impl Live {
    /// Tells where the page for writing down is, and the code that pairs the next phone.
    fn tell(&self) -> Result<(), Stop> {
        if !self.log {
            return Ok(());
        }
        let log = format!("http://{}/log", self.address);
        let mut text = format!("{log} is for writing down what happens\n");
        if let Some(code) = self.door.code() {
            text += &format!(
                "code to pair a phone, valid once: {}-{}\n{}",
                &code[..4],
                &code[4..],
                square(&self.common, &format!("{log}#{code}"))
            );
            text += "what is sent is not encrypted: use it in your own network only\n";
        }
        terminal::print(&text).map_err(Stop::fault)
    }

    fn answer(&self, request: &Request, body: &mut Body<'_>) -> Answer {
        if let Some((status, says)) = self.door.refuses(request) {
            return told(status, says);
        }
        let path = &*request.path;
        // What these pages are made of is no secret; what they show is.
        let open = match path {
            "/watch.css" => Some((STYLE, FRAME_STYLE)),
            "/watch.js" => Some((SCRIPT, FRAME_SCRIPT)),
            "/log" if self.log => Some((HTML, LOG)),
            "/log.css" if self.log => Some((STYLE, LOG_STYLE)),
            "/log.js" if self.log => Some((SCRIPT, LOG_SCRIPT)),
            _ => None,
        };
        match (&*request.method, open, path) {
            ("GET", Some((kind, text)), _) => given(200, kind, text),
            ("POST", _, "/pair") if self.log => self.pair(body),
            (_, _, "/") if !self.door.knows(request) => {
                given(401, HTML, FRAME.replace("@FRAME@", UNPAIRED).replace("@LOG@", ""))
            }
            _ if !self.door.knows(request) => told(401, "pair this device first, at /log\n"),
            ("GET", _, "/") => {
                let log = if self.log { "<a href=\"/log\">Write down</a>" } else { "" };
                let frame = "<iframe src=\"/report\" title=\"Report of the build\"></iframe>";
                given(200, HTML, FRAME.replace("@FRAME@", frame).replace("@LOG@", log))
            }
            ("GET", _, "/report") => {
                let mut answer = given(200, HTML, held(&self.shared).html.clone());
                answer.headers[1].1 = REPORT_MAY.into();
                answer
            }
            ("GET", _, "/version") => {
                let shown = held(&self.shared);
                let now = serde_json::json!({
                    "version": shown.version,
                    "forms": shown.forms_version,
                    "faults": shown.faults,
                });
                given(200, JSON, now.to_string())
            }
            ("GET", _, "/log/forms") if self.log => self.forms(),
            ("POST", _, "/log/check" | "/log/write") if self.log => self.sent(request, body),
            ("GET", ..) => told(404, "nothing here; the report is at /\n"),
            _ => told(405, "nothing can be written here\n"),
        }
    }

    fn pair(&self, body: &mut Body<'_>) -> Answer {
        let paired =
            body.read(MOST_CODE).and_then(|code| self.door.pair(&String::from_utf8_lossy(&code)));
        match paired {
            Ok(cookie) => {
                let mut answer = told(200, "paired\n");
                answer.headers.push(("Set-Cookie", cookie));
                // Where the terminal is gone, nobody pairs another.
                let _ = self.tell();
                answer
            }
            Err(429) => told(429, "too many wrong codes: start `report --watch --log` again\n"),
            Err(status) => told(status, "this is not the code that the terminal shows\n"),
        }
    }

    /// What can be written down, and the time here.
    fn forms(&self) -> Answer {
        let shown = held(&self.shared);
        let Some(forms) = &shown.forms else {
            let says = shown.faults.as_deref().unwrap_or("not read yet");
            return told(503, says);
        };
        let now = chrono::Local::now().format("%Y-%m-%dT%H:%M:%S");
        let version = shown.forms_version;
        let json = format!("{{\"now\":\"{now}\",\"version\":{version},\"forms\":{forms}}}");
        given(200, JSON, json)
    }

    /// An entry, to be checked or written down: by the same way as `log`.
    fn sent(&self, request: &Request, body: &mut Body<'_>) -> Answer {
        static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
        if request.header("content-type") != Some(JSON) {
            return told(415, "an entry is sent as JSON\n");
        }
        let bytes = match body.read(MOST_SENT) {
            Ok(bytes) => bytes,
            Err(status) => return told(status, "this entry is incomplete or too large\n"),
        };
        let sent: log::Sent = match serde_json::from_slice(&bytes) {
            Ok(sent) => sent,
            Err(e) => return told(422, &format!("this is not an entry: {e}\n")),
        };
        let _alone = held(&ONE_AT_A_TIME);
        let came = match &*request.path {
            "/log/check" => sent.check(&self.common),
            _ => sent.write(&self.common),
        };
        match came.and_then(|came| serde_json::to_string(&came).map_err(Stop::fault)) {
            Ok(json) => given(200, JSON, json),
            Err(stop) => told(422, stop.says()),
        }
    }
}

/// Told where the report would stand.
const UNPAIRED: &str = "<main><h1>This device is not paired</h1><p><a href=\"/log\">Pair it</a> with the code that the terminal shows.</p></main>";

/// A square code of an address, where the terminal can show one.
fn square(common: &Common, address: &str) -> String {
    use qrcode::render::unicode::Dense1x2;
    let look = terminal::look(common);
    let code = qrcode::QrCode::new(address).ok().filter(|_| look.unicode);
    // Light on dark, as most terminals are, so that a camera sees dark on light.
    let drawn = code.map(|code| {
        let mut drawn = code.render::<Dense1x2>();
        drawn.dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build() + "\n"
    });
    drawn.unwrap_or_default()
}

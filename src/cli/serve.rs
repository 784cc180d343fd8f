//! Pages for browsers of this machine: each connection answered once, in a thread of its own, with
//! bounds on what it may send, how long it may take and how many there are (CWE-400).

use std::io::{self, Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Bytes that the head of a request may have.
const MOST_HEAD: usize = 8 << 10;
/// Headers that it may have.
const MOST_HEADERS: usize = 64;
/// Connections at a time; more are closed.
const MOST_OPEN: usize = 64;
/// How long a request may take to come.
const TO_ASK: Duration = Duration::from_secs(5);
/// How long a reader may take for an answer.
const TO_READ: Duration = Duration::from_secs(60);

/// What a browser asks for.
#[derive(Debug)]
pub struct Request {
    pub method: String,
    pub path: String,
    /// Every `Host` header.
    pub hosts: Vec<String>,
}

/// What it is given.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(&'static str, &'static str)>,
    pub body: Arc<str>,
}

/// Answers every request until the process ends.
pub fn serve(listener: &TcpListener, answer: impl Fn(&Request) -> Answer + Send + Sync + 'static) {
    let open = Arc::new(AtomicUsize::new(0));
    let answer = Arc::new(answer);
    for stream in listener.incoming().flatten() {
        if open.fetch_add(1, Ordering::SeqCst) >= MOST_OPEN {
            open.fetch_sub(1, Ordering::SeqCst);
            continue;
        }
        let (counted, answer) = (open.clone(), answer.clone());
        std::thread::spawn(move || {
            // A browser that went away, or was too slow, is no fault of ours.
            let _ = one(stream, &*answer);
            counted.fetch_sub(1, Ordering::SeqCst);
        });
    }
}

fn one(mut stream: TcpStream, answer: &dyn Fn(&Request) -> Answer) -> io::Result<()> {
    let answer = match head(&mut stream)? {
        Head::Request(request) => answer(&request),
        Head::TooLong => plain(431, "this request is too long\n"),
        Head::Unclear => plain(400, "this is no request\n"),
    };
    let mut text = format!("HTTP/1.1 {} {}\r\n", answer.status, reason(answer.status));
    for (name, value) in &answer.headers {
        text += &format!("{name}: {value}\r\n");
    }
    text += &format!("Content-Length: {}\r\nConnection: close\r\n\r\n", answer.body.len());
    let until = Instant::now() + TO_READ;
    send(&mut stream, text.as_bytes(), until)?;
    send(&mut stream, answer.body.as_bytes(), until)?;
    stream.shutdown(Shutdown::Write)
}

fn plain(status: u16, body: &str) -> Answer {
    Answer {
        status,
        headers: vec![
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Security-Policy", "default-src 'none'"),
            ("X-Content-Type-Options", "nosniff"),
        ],
        body: body.into(),
    }
}

fn reason(status: u16) -> &'static str {
    match status {
        200 => "OK",
        400 => "Bad Request",
        404 => "Not Found",
        405 => "Method Not Allowed",
        421 => "Misdirected Request",
        431 => "Request Header Fields Too Large",
        _ => "",
    }
}

enum Head {
    Request(Request),
    TooLong,
    Unclear,
}

/// What is left until a moment; an error where nothing is.
fn left(until: Instant) -> io::Result<Duration> {
    match until.saturating_duration_since(Instant::now()) {
        Duration::ZERO => Err(io::ErrorKind::TimedOut.into()),
        left => Ok(left),
    }
}

/// Reads the head of a request. A body is left unread: nothing is ever written here.
fn head(stream: &mut TcpStream) -> io::Result<Head> {
    let until = Instant::now() + TO_ASK;
    let mut bytes = Vec::new();
    let mut some = [0; 1024];
    loop {
        stream.set_read_timeout(Some(left(until)?))?;
        match stream.read(&mut some)? {
            0 => return Ok(Head::Unclear),
            read => bytes.extend_from_slice(&some[..read]),
        }
        let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
        let mut request = httparse::Request::new(&mut headers);
        match request.parse(&bytes) {
            Ok(httparse::Status::Complete(_)) => {
                let hosts = request.headers.iter().filter(|h| h.name.eq_ignore_ascii_case("host"));
                return Ok(Head::Request(Request {
                    method: request.method.unwrap_or_default().to_owned(),
                    path: request.path.unwrap_or_default().to_owned(),
                    hosts: hosts.map(|h| String::from_utf8_lossy(h.value).into_owned()).collect(),
                }));
            }
            Ok(httparse::Status::Partial) if bytes.len() < MOST_HEAD => {}
            Ok(httparse::Status::Partial) | Err(httparse::Error::TooManyHeaders) => {
                return Ok(Head::TooLong);
            }
            Err(_) => return Ok(Head::Unclear),
        }
    }
}

fn send(stream: &mut TcpStream, mut bytes: &[u8], until: Instant) -> io::Result<()> {
    while !bytes.is_empty() {
        stream.set_write_timeout(Some(left(until)?))?;
        match stream.write(bytes)? {
            0 => return Err(io::ErrorKind::WriteZero.into()),
            sent => bytes = &bytes[sent..],
        }
    }
    Ok(())
}

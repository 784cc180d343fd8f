//! Pages for browsers: each connection answered once, in a thread of its own, with bounds on what it
//! may send, how long it may take and how many there are (CWE-400).

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
/// How long the head of a request may take to come.
const TO_ASK: Duration = Duration::from_secs(5);
/// How long a body may take, over the worst of wireless.
const TO_SEND: Duration = Duration::from_secs(60);
/// How long a reader may take for an answer.
const TO_READ: Duration = Duration::from_secs(60);
/// What is taken of a body that nobody wanted, so that its sender reads the answer.
const MOST_UNREAD: usize = 1 << 20;

/// What a browser asks for.
#[derive(Debug)]
pub struct Request {
    pub method: String,
    pub path: String,
    headers: Vec<(String, String)>,
}

impl Request {
    /// A header that stands there once.
    pub fn header(&self, name: &str) -> Option<&str> {
        let mut all = self.headers.iter().filter(|(n, _)| n.eq_ignore_ascii_case(name));
        let (_, first) = all.next()?;
        all.next().is_none().then_some(first)
    }

    fn has(&self, name: &str) -> bool {
        self.headers.iter().any(|(n, _)| n.eq_ignore_ascii_case(name))
    }
}

/// What comes after the head of a request; read by who wants it, and not before it is asked for.
#[derive(Debug)]
pub struct Body<'a> {
    stream: &'a mut TcpStream,
    begun: Vec<u8>,
    length: Option<usize>,
}

impl Body<'_> {
    /// All of it; the status to answer with where it is no sound body of so many bytes at most.
    pub fn read(&mut self, most: usize) -> Result<Vec<u8>, u16> {
        let length = self.length.ok_or(411u16)?;
        if length > most {
            return Err(413);
        }
        let mut bytes = std::mem::take(&mut self.begun);
        let until = Instant::now() + TO_SEND;
        let mut some = [0; 16 << 10];
        while bytes.len() < length {
            let wait = left(until).and_then(|left| self.stream.set_read_timeout(Some(left)));
            match wait.and_then(|()| self.stream.read(&mut some)) {
                Ok(read @ 1..) => bytes.extend_from_slice(&some[..read]),
                _ => return Err(408),
            }
        }
        if bytes.len() > length {
            return Err(400);
        }
        Ok(bytes)
    }
}

/// What a browser is given.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(&'static str, String)>,
    pub body: Arc<str>,
}

/// Answers every request until the process ends.
pub fn serve(
    listener: &TcpListener,
    answer: impl Fn(&Request, &mut Body<'_>) -> Answer + Send + Sync + 'static,
) {
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

fn one(
    mut stream: TcpStream,
    answer: &dyn Fn(&Request, &mut Body<'_>) -> Answer,
) -> io::Result<()> {
    let answer = match head(&mut stream)? {
        Head::Request(request, begun) => {
            let length = match request.has("transfer-encoding") {
                true => None,
                false => request.header("content-length").and_then(|n| n.parse().ok()),
            };
            answer(&request, &mut Body { stream: &mut stream, begun, length })
        }
        Head::TooLong => plain(431, "this request is too long\n"),
        Head::Unclear => plain(400, "this is not a request\n"),
    };
    let mut text = format!("HTTP/1.1 {} {}\r\n", answer.status, reason(answer.status));
    for (name, value) in &answer.headers {
        text += &format!("{name}: {value}\r\n");
    }
    text += &format!("Content-Length: {}\r\nConnection: close\r\n\r\n", answer.body.len());
    let until = Instant::now() + TO_READ;
    send(&mut stream, text.as_bytes(), until)?;
    send(&mut stream, answer.body.as_bytes(), until)?;
    stream.shutdown(Shutdown::Write)?;
    let (mut unread, until) = (0, Instant::now() + Duration::from_secs(1));
    let mut some = [0; 16 << 10];
    while unread < MOST_UNREAD {
        stream.set_read_timeout(Some(left(until)?))?;
        match stream.read(&mut some)? {
            0 => break,
            read => unread += read,
        }
    }
    Ok(())
}

fn plain(status: u16, body: &str) -> Answer {
    let headers = [
        ("Content-Type", "text/plain; charset=utf-8"),
        ("Content-Security-Policy", "default-src 'none'"),
        ("X-Content-Type-Options", "nosniff"),
    ];
    let headers = headers.map(|(name, value)| (name, value.to_owned())).into();
    Answer { status, headers, body: body.into() }
}

fn reason(status: u16) -> &'static str {
    match status {
        200 => "OK",
        400 => "Bad Request",
        401 => "Unauthorized",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        408 => "Request Timeout",
        411 => "Length Required",
        413 => "Content Too Large",
        415 => "Unsupported Media Type",
        421 => "Misdirected Request",
        422 => "Unprocessable Content",
        429 => "Too Many Requests",
        431 => "Request Header Fields Too Large",
        503 => "Service Unavailable",
        _ => "",
    }
}

enum Head {
    /// With what came of its body by then.
    Request(Request, Vec<u8>),
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

/// Reads the head of a request.
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
            Ok(httparse::Status::Complete(ends)) => {
                let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
                let headers = request.headers.iter();
                let request = Request {
                    method: request.method.unwrap_or_default().to_owned(),
                    path: request.path.unwrap_or_default().to_owned(),
                    headers: headers.map(|h| (h.name.to_owned(), text(h.value))).collect(),
                };
                return Ok(Head::Request(request, bytes.split_off(ends)));
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

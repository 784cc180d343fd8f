//! Who may ask for the pages of the live view: requests that name this machine, that come from its own
//! pages where they write, and, where it listens to a network, from who was paired.

use super::serve::Request;
use rand::TryRng;
use rand::rngs::SysRng;
use sha2::{Digest, Sha256};
use std::net::SocketAddr;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// Signs of a code: none that is easily taken for another.
const SIGNS: &[u8] = b"ABCDEFGHJKMNPQRSTUVWXYZ23456789";
/// Wrong codes after which nobody is paired any more.
const MOST_WRONG: u32 = 10;
/// How long a wrong code takes.
const WRONG_TAKES: Duration = Duration::from_secs(1);

/// The door of one address.
#[derive(Debug)]
pub struct Door {
    /// Names under which it is reached.
    hosts: Vec<String>,
    cookie: String,
    pairing: Option<Pairing>,
}

#[derive(Debug)]
struct Pairing {
    code: Mutex<Code>,
    /// Of the tokens given out, which end with the process.
    tokens: Mutex<Vec<[u8; 32]>>,
}

#[derive(Debug)]
struct Code {
    is: String,
    wrong: u32,
}

fn held<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

fn drawn<const N: usize>() -> Result<[u8; N], String> {
    let mut bytes = [0; N];
    SysRng
        .try_fill_bytes(&mut bytes)
        .map_err(|e| format!("the system gave no random numbers: {e}"))?;
    Ok(bytes)
}

/// Eight signs, each as likely as any other.
fn new_code() -> Result<String, String> {
    let most = (256 / SIGNS.len() * SIGNS.len()) as u8;
    let mut code = String::new();
    while code.len() < 8 {
        let fair = drawn::<16>()?.into_iter().filter(|byte| *byte < most);
        code.extend(fair.map(|byte| char::from(SIGNS[usize::from(byte) % SIGNS.len()])));
    }
    code.truncate(8);
    Ok(code)
}

impl Door {
    /// The door of an address: of this machine alone, or of a network, where each is paired first.
    ///
    /// # Errors
    /// Where the system draws no code.
    pub fn new(address: SocketAddr) -> Result<Self, String> {
        let own = address.ip().is_loopback();
        let mut hosts = vec![address.to_string()];
        if own {
            hosts.push(format!("localhost:{}", address.port()));
        }
        let code = || -> Result<Pairing, String> {
            let code = Mutex::new(Code { is: new_code()?, wrong: 0 });
            Ok(Pairing { code, tokens: Mutex::default() })
        };
        let pairing = if own { None } else { Some(code()?) };
        Ok(Self { hosts, cookie: format!("pourwright-{}", address.port()), pairing })
    }

    /// The code that pairs the next; nothing where nobody need be paired.
    pub fn code(&self) -> Option<String> {
        self.pairing.as_ref().map(|pairing| held(&pairing.code).is.clone())
    }

    /// Why a request is not answered at all: its name leads here from a page elsewhere, or it would
    /// write and comes from no page of ours.
    pub fn refuses(&self, request: &Request) -> Option<(u16, &'static str)> {
        let host = request.header("host").filter(|host| self.hosts.iter().any(|h| h == host));
        let Some(host) = host else {
            return Some((421, "this page is not served under that name\n"));
        };
        let own = request.header("origin").and_then(|o| o.strip_prefix("http://")) == Some(host);
        let site = request.header("sec-fetch-site").is_none_or(|site| site == "same-origin");
        (request.method != "GET" && !(own && site))
            .then_some((403, "requests from other pages are refused\n"))
    }

    /// Whether who asks was paired, where that is needed.
    pub fn knows(&self, request: &Request) -> bool {
        let Some(pairing) = &self.pairing else { return true };
        let cookies = request.header("cookie").unwrap_or_default().split(';');
        let mut named = cookies.filter_map(|c| c.trim().split_once('='));
        let token = named.find(|(name, _)| *name == self.cookie).map(|(_, token)| token);
        token.is_some_and(|token| {
            let hash: [u8; 32] = Sha256::digest(token).into();
            held(&pairing.tokens).contains(&hash)
        })
    }

    /// Pairs who knows the code, which is valid once: the cookie to be set. Else the status.
    pub fn pair(&self, said: &str) -> Result<String, u16> {
        let pairing = self.pairing.as_ref().ok_or(404u16)?;
        let mut code = held(&pairing.code);
        if code.wrong >= MOST_WRONG {
            return Err(429);
        }
        let said: String = said.chars().filter(char::is_ascii_alphanumeric).collect();
        if Sha256::digest(said.to_ascii_uppercase()) != Sha256::digest(&code.is) {
            code.wrong += 1;
            // Whoever tries waits, and all who try wait for each other.
            std::thread::sleep(WRONG_TAKES);
            return Err(403);
        }
        let token: String =
            drawn::<32>().map_err(|_| 503u16)?.iter().map(|byte| format!("{byte:02x}")).collect();
        *code = Code { is: new_code().map_err(|_| 503u16)?, wrong: 0 };
        held(&pairing.tokens).push(Sha256::digest(&token).into());
        Ok(format!("{}={token}; Path=/; HttpOnly; SameSite=Strict", self.cookie))
    }
}

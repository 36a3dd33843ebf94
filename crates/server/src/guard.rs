//! Who may ask: only the browser that was given the address with the token, or the password; only by an address that means this
//! machine; and nothing is changed on the word of another site.

use axum::http::{HeaderMap, Method, header};
use sha2::{Digest, Sha256};
use std::net::IpAddr;

/// The name of the cookie.
const COOKIE: &str = "cullet";

/// What is known to let somebody in.
#[derive(Debug)]
pub(crate) struct Guard {
    /// Stands in the first address; makes the cookie.
    token: String,
    /// What the cookie holds.
    session: String,
    password: Option<[u8; 32]>,
    port: u16,
    /// Whether it listens for other machines too.
    is_open: bool,
}

/// Why a request is turned away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Refused {
    /// An address that is not this machine's: another site may have led it here.
    Host,
    /// Sent by a page that is not ours.
    Origin,
    /// Nobody that was let in.
    Unknown,
}

impl Guard {
    pub(crate) fn new(password: Option<&str>, port: u16, is_open: bool) -> Result<Self, getrandom::Error> {
        Ok(Self {
            token: secret()?,
            session: secret()?,
            password: password.map(hash),
            port,
            is_open,
        })
    }

    pub(crate) fn token(&self) -> &str {
        &self.token
    }

    pub(crate) fn has_password(&self) -> bool {
        self.password.is_some()
    }

    /// Whether the token of the first address is right.
    pub(crate) fn knows_token(&self, token: &str) -> bool {
        hash(token) == hash(&self.token)
    }

    pub(crate) fn knows_password(&self, word: &str) -> bool {
        self.password.is_some_and(|known| known == hash(word))
    }

    /// The cookie for whoever is let in.
    pub(crate) fn cookie(&self) -> String {
        format!(
            "{COOKIE}-{}={}; HttpOnly; SameSite=Strict; Path=/",
            self.port, self.session
        )
    }

    /// Judges a request by its method and headers. The pages that let somebody in want no cookie.
    pub(crate) fn judge(&self, method: &Method, headers: &HeaderMap, is_entrance: bool) -> Result<(), Refused> {
        let text = |name: header::HeaderName| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
        let mut hosts = headers.get_all(header::HOST).iter();
        let host = hosts.next().and_then(|host| host.to_str().ok()).unwrap_or_default();
        if hosts.next().is_some() || !self.is_own(host) {
            return Err(Refused::Host);
        }
        let changes = !matches!(*method, Method::GET | Method::HEAD);
        let own = format!("http://{host}");
        match text(header::ORIGIN) {
            Some(origin) if !origin.eq_ignore_ascii_case(&own) => return Err(Refused::Origin),
            None if changes => return Err(Refused::Origin),
            _ => {}
        }
        let site = headers.get("sec-fetch-site").map(|value| value.to_str().unwrap_or("?"));
        if changes && site.is_some_and(|site| site != "same-origin") {
            return Err(Refused::Origin);
        }
        if is_entrance || self.is_known(headers) {
            return Ok(());
        }
        Err(Refused::Unknown)
    }

    fn is_known(&self, headers: &HeaderMap) -> bool {
        let name = format!("{COOKIE}-{}=", self.port);
        let cookies = headers
            .get_all(header::COOKIE)
            .iter()
            .filter_map(|value| value.to_str().ok());
        let mut own = cookies
            .flat_map(|line| line.split("; "))
            .filter_map(|cookie| cookie.strip_prefix(&name));
        own.any(|value| hash(value) == hash(&self.session))
    }

    /// Whether a host, with its port, means this machine and cannot be a name that somebody else gives out.
    fn is_own(&self, host: &str) -> bool {
        let Some(name) = host.strip_suffix(&format!(":{}", self.port)) else {
            return false;
        };
        if name.eq_ignore_ascii_case("localhost") {
            return true;
        }
        let number = name
            .strip_prefix('[')
            .and_then(|name| name.strip_suffix(']'))
            .unwrap_or(name);
        number
            .parse::<IpAddr>()
            .is_ok_and(|address| self.is_open || address.is_loopback())
    }
}

fn secret() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Compared by their digests, so that the time it takes says nothing of the secret.
fn hash(text: &str) -> [u8; 32] {
    Sha256::digest(text).into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;

    fn asked(pairs: &[(&'static str, &str)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.append(*name, HeaderValue::from_str(value).expect("a header"));
        }
        headers
    }

    #[test]
    fn only_who_was_let_in_by_our_own_address_is_answered() {
        let guard = Guard::new(None, 4000, false).expect("random numbers");
        let cookie = guard.cookie().split(';').next().unwrap_or_default().to_owned();
        let judge = |method: Method, pairs: &[(&'static str, &str)]| guard.judge(&method, &asked(pairs), false);
        let (host, own) = (("host", "127.0.0.1:4000"), ("cookie", cookie.as_str()));
        assert_eq!(judge(Method::GET, &[host, own]), Ok(()));
        assert_eq!(judge(Method::GET, &[host]), Err(Refused::Unknown));
        assert_eq!(
            judge(Method::GET, &[host, ("cookie", "cullet-4000=")]),
            Err(Refused::Unknown)
        );
        for bad in [
            "evil.example:4000",
            "127.0.0.1",
            "127.0.0.1:4001",
            "192.168.1.7:4000",
            "",
            "localhost.evil.example:4000",
        ] {
            assert_eq!(judge(Method::GET, &[("host", bad), own]), Err(Refused::Host), "{bad}");
        }
        assert_eq!(
            judge(Method::GET, &[host, ("host", "127.0.0.1:4000"), own]),
            Err(Refused::Host)
        );
        assert_eq!(judge(Method::POST, &[host, own]), Err(Refused::Origin));
        assert_eq!(
            judge(Method::POST, &[host, own, ("origin", "http://evil.example")]),
            Err(Refused::Origin)
        );
        assert_eq!(
            judge(Method::POST, &[host, own, ("origin", "null")]),
            Err(Refused::Origin)
        );
        let ours = ("origin", "http://127.0.0.1:4000");
        assert_eq!(judge(Method::POST, &[host, own, ours]), Ok(()));
        assert_eq!(
            judge(Method::POST, &[host, own, ours, ("sec-fetch-site", "cross-site")]),
            Err(Refused::Origin)
        );
        assert_eq!(judge(Method::POST, &[host, ours]), Err(Refused::Unknown));
        assert!(judge(Method::GET, &[("host", "LOCALHOST:4000"), own]).is_ok());
        assert!(judge(Method::GET, &[("host", "[::1]:4000"), own]).is_ok());
    }

    #[test]
    fn other_machines_only_by_number() {
        let guard = Guard::new(Some("reed"), 4000, true).expect("random numbers");
        let cookie = guard.cookie().split(';').next().unwrap_or_default().to_owned();
        let judge = |host: &str| guard.judge(&Method::GET, &asked(&[("host", host), ("cookie", &cookie)]), false);
        assert!(judge("192.168.1.7:4000").is_ok());
        assert_eq!(judge("workshop.example:4000"), Err(Refused::Host));
        assert!(guard.knows_password("reed") && !guard.knows_password("Reed"));
    }
}

//! The page asked without a network, for the fuzzer: whatever is asked, the functions that answer it run as they do for a browser.

use crate::app::{App, Asked, Options};
use crate::html;
use crate::routes::{BRING, DO, READ};
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;

/// What begins a search, which would outlive the question.
const SEARCHES: [&str; 2] = ["/plan", "/compare"];

/// A folder that is asked about.
#[derive(Debug)]
pub struct Trial(Arc<App>);

impl Trial {
    /// Opens a folder.
    ///
    /// # Errors
    /// A folder that is not there.
    pub fn new(folder: &Path) -> io::Result<Self> {
        let options = Options {
            folder: folder.to_owned(),
            address: Ipv4Addr::LOCALHOST.into(),
            port: 0,
            password: None,
            who: "trial".into(),
        };
        let at = SocketAddr::from((Ipv4Addr::LOCALHOST, 1));
        Ok(Self(Arc::new(App::new(&options, at)?)))
    }

    /// Asks: a first line with the address and its query, then the form or file that is sent with it. The status that is answered; none for an
    /// address that is none of ours.
    #[must_use]
    pub fn ask(&self, asked: &[u8]) -> Option<u16> {
        let end = asked.iter().position(|byte| *byte == b'\n').unwrap_or(asked.len());
        let (address, body) = (std::str::from_utf8(&asked[..end]).ok()?, asked.get(end + 1..));
        let (path, query) = address.split_once('?').unwrap_or((address, ""));
        let of = |list: &[(&str, crate::routes::Answer)]| list.iter().find(|(own, _)| *own == path).map(|one| one.1);
        let (answer, asked) = match body {
            None => (of(READ)?, Asked::new(query, &[], vec![])),
            Some(_) if SEARCHES.contains(&path) => return None,
            Some(body) => match of(DO) {
                Some(answer) => (answer, Asked::new(query, body, vec![])),
                None => (of(BRING)?, Asked::new(query, &[], body.to_vec())),
            },
        };
        let response = answer(&self.0, &asked).unwrap_or_else(|problem| {
            html::problem(&problem, asked.back().as_deref(), &|words| self.0.place.short(words))
        });
        Some(response.status().as_u16())
    }
}

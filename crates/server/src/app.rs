//! What all answers share.

use crate::answer::Problem;
use crate::guard::Guard;
use crate::html::to;
use crate::place::Place;
use cullet_rack::Stamp;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};

/// What is served, to whom.
#[derive(Debug, Clone)]
pub struct Options {
    /// The folder.
    pub folder: PathBuf,
    /// The address to listen at.
    pub address: IpAddr,
    /// The port; 0 for any that is free.
    pub port: u16,
    /// What others must type, where it listens for other machines.
    pub password: Option<String>,
    /// Whose name goes into the rack's history.
    pub who: String,
}

/// The folder, who may ask, and what goes on.
#[derive(Debug)]
pub(crate) struct App {
    pub(crate) place: Place,
    pub(crate) guard: Guard,
    pub(crate) runs: crate::runs::Runs,
    pub(crate) undo: crate::undo::Undo,
    pub(crate) states: crate::jobs::States,
    who: String,
}

impl App {
    pub(crate) fn new(options: &Options, at: SocketAddr) -> io::Result<Self> {
        let guard = Guard::new(options.password.as_deref(), at.port(), !at.ip().is_loopback());
        let place = Place::new(&options.folder)?;
        Ok(Self {
            undo: crate::undo::Undo::new(place.root()),
            place,
            guard: guard.map_err(|error| io::Error::other(error.to_string()))?,
            runs: crate::runs::Runs::default(),
            states: crate::jobs::States::default(),
            who: options.who.clone(),
        })
    }

    /// Now, by whoever opened the folder.
    pub(crate) fn stamp(&self) -> Stamp {
        let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
        Stamp {
            at: i64::try_from(now.as_secs()).unwrap_or(i64::MAX),
            who: self.who.clone(),
        }
    }
}

/// What was asked: the address's and the form's fields, or the bytes that were sent.
#[derive(Debug, Default)]
pub(crate) struct Asked {
    fields: Vec<(String, String)>,
    pub(crate) bytes: Vec<u8>,
}

impl Asked {
    pub(crate) fn new(query: &str, form: &[u8], bytes: Vec<u8>) -> Self {
        let pairs = [query.as_bytes(), form].into_iter().flat_map(form_urlencoded::parse);
        Self {
            fields: pairs
                .map(|(name, value)| (name.into_owned(), value.into_owned()))
                .collect(),
            bytes,
        }
    }

    /// A field; nothing where it is not there or empty.
    pub(crate) fn get(&self, name: &str) -> Option<&str> {
        let found = self.fields.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
    }

    /// A field that must be there: without it the address is none of ours.
    pub(crate) fn must(&self, name: &str) -> Result<&str, Problem> {
        self.get(name).ok_or(Problem::NotThere)
    }

    /// All fields of that name.
    pub(crate) fn all(&self, name: &str) -> Vec<&str> {
        let found = self.fields.iter().filter(|(known, _)| known == name);
        found
            .map(|(_, value)| value.trim())
            .filter(|value| !value.is_empty())
            .collect()
    }

    /// Where whoever asked came from, as far as the fields tell.
    pub(crate) fn back(&self) -> Option<String> {
        let job = self.get("job").map(|job| to("/job", &[("job", job)]));
        job.or_else(|| self.get("rack").map(|rack| to("/rack", &[("rack", rack)])))
    }

    /// All fields, for forms whose fields are not known beforehand.
    pub(crate) fn fields(&self) -> &[(String, String)] {
        &self.fields
    }
}

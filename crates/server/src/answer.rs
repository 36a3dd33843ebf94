//! What goes out: pages, data, files, each with the headers that keep a browser from doing more than it should.

use crate::place::Outside;
use axum::body::Body;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::Response;
use cullet_job::{Finding, Findings};
use cullet_rack::RackError;
use maud::Markup;
use serde::Serialize;

/// For our own pages: nothing from elsewhere, nothing that is written into the page.
const OWN: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; \
                   form-action 'self'; frame-src 'self'; base-uri 'none'; frame-ancestors 'none'";
/// For what the program wrote to be opened as it is, with styles in it: nothing runs there.
const WRITTEN: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox; base-uri 'none'; frame-ancestors 'self'";

/// Why something was not done, for whoever reads the page.
#[derive(Debug)]
pub(crate) enum Problem {
    /// There is no such thing.
    NotThere,
    /// What is wrong with what was sent or lies there.
    Findings(Vec<Finding>),
    /// Somebody changed it meanwhile.
    Changed(String),
    /// In words.
    Words(String),
}

impl From<Outside> for Problem {
    fn from(_: Outside) -> Self {
        Self::NotThere
    }
}

impl From<Findings> for Problem {
    fn from(Findings(findings): Findings) -> Self {
        Self::Findings(findings)
    }
}

impl From<RackError> for Problem {
    fn from(error: RackError) -> Self {
        match error {
            RackError::Input(findings) => findings.into(),
            other => Self::Words(other.to_string()),
        }
    }
}

impl Problem {
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            Self::NotThere => StatusCode::NOT_FOUND,
            Self::Changed(_) => StatusCode::CONFLICT,
            Self::Findings(_) | Self::Words(_) => StatusCode::UNPROCESSABLE_ENTITY,
        }
    }

    /// A line for each thing that is wrong: what, and what to do.
    pub(crate) fn lines(&self) -> Vec<(String, String)> {
        match self {
            Self::NotThere => vec![(
                "There is no such page, file or job here.".into(),
                "Go back to the list of jobs.".into(),
            )],
            Self::Findings(findings) => findings.iter().map(in_words).collect(),
            Self::Changed(words) | Self::Words(words) => vec![(words.clone(), String::new())],
        }
    }
}

/// A finding as a sentence, and what to do about it.
pub(crate) fn in_words(finding: &Finding) -> (String, String) {
    let what = format!(
        "{}, {}: found {}, expected {}",
        finding.file, finding.place, finding.found, finding.expected
    );
    (what, finding.hint.clone())
}

fn with(status: StatusCode, kind: &'static str, policy: &'static str, body: impl Into<Body>) -> Response {
    let mut response = Response::new(body.into());
    *response.status_mut() = status;
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_TYPE, kind),
        (header::CONTENT_SECURITY_POLICY, policy),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    response
}

/// A page.
pub(crate) fn page(status: StatusCode, page: Markup) -> Response {
    with(status, "text/html; charset=utf-8", OWN, page.into_string())
}

/// Something that goes to the browser as it is: a script, a picture of ours.
pub(crate) fn own(kind: &'static str, content: impl Into<Body>) -> Response {
    with(StatusCode::OK, kind, OWN, content)
}

/// Data for a script.
pub(crate) fn data(status: StatusCode, content: &impl Serialize) -> Response {
    match serde_json::to_vec(content) {
        Ok(bytes) => with(status, "application/json", OWN, bytes),
        Err(_) => plain(
            StatusCode::INTERNAL_SERVER_ERROR,
            "internal fault: no answer could be made",
        ),
    }
}

/// A file of the folder, opened in the browser or kept under its name.
pub(crate) fn file(name: &str, kind: &'static str, keep: bool, content: Vec<u8>) -> Response {
    let mut response = with(StatusCode::OK, kind, WRITTEN, content);
    if keep {
        let name: String = name
            .chars()
            .map(|c| {
                if c.is_ascii_alphanumeric() || "-_.".contains(c) {
                    c
                } else {
                    '-'
                }
            })
            .collect();
        if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
            response.headers_mut().insert(header::CONTENT_DISPOSITION, value);
        }
    }
    response
}

/// Words alone.
pub(crate) fn plain(status: StatusCode, words: &str) -> Response {
    with(status, "text/plain; charset=utf-8", OWN, words.to_owned())
}

/// On to another page of ours, after something was done.
pub(crate) fn go(to: &str) -> Response {
    let mut response = plain(StatusCode::SEE_OTHER, "");
    match HeaderValue::from_str(to) {
        Ok(value) => {
            response.headers_mut().insert(header::LOCATION, value);
            response
        }
        Err(_) => plain(StatusCode::BAD_REQUEST, "no such address"),
    }
}

/// A name as part of an address.
pub(crate) fn encoded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'~' | b'/' => out.push(char::from(byte)),
            other => out.push_str(&format!("%{other:02X}")),
        }
    }
    out
}

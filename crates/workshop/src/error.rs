//! Why something was not done.

use crate::writing::NotWritten;
use cullet_job::{Finding, Findings};
use cullet_rack::RackError;

/// Why something was not done. Unless it says otherwise, nothing was written or booked.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// What was given is wrong: all that was found.
    #[error("{0}")]
    Input(Findings),
    /// The rack does not allow it: glass that is taken, promised or changed.
    #[error("{0}")]
    Taken(Findings),
    /// A file or the rack could not be read or written, in words.
    #[error("{0}")]
    CannotWrite(String),
    /// The plan that was given fails its check: every fault on a line.
    #[error("{}", .0.join("\n"))]
    DoesNotHold(Vec<String>),
    /// What the program made itself fails its check.
    #[error("internal fault: {what} fails its check")]
    Internal {
        /// What fails.
        what: String,
        /// Every fault on a line.
        faults: Vec<String>,
    },
    /// The program itself could not go on, in words.
    #[error("internal fault: {0}")]
    Fault(String),
    /// Stopped before there was anything to write.
    #[error("stopped before {0}")]
    Stopped(&'static str),
}

impl From<Findings> for Error {
    fn from(findings: Findings) -> Self {
        Self::Input(findings)
    }
}

impl From<Finding> for Error {
    fn from(finding: Finding) -> Self {
        Self::Input(Findings(vec![finding]))
    }
}

impl From<RackError> for Error {
    fn from(error: RackError) -> Self {
        match error {
            RackError::Input(findings) => Self::Input(findings),
            RackError::Taken(findings) => Self::Taken(findings),
            RackError::File(findings) => Self::CannotWrite(findings.to_string()),
        }
    }
}

impl From<NotWritten> for Error {
    fn from(error: NotWritten) -> Self {
        match error {
            NotWritten::Refused(findings) => Self::Input(findings),
            NotWritten::CannotWrite(words) => Self::CannotWrite(words),
        }
    }
}

impl Error {
    /// This and what else is wrong, where both are findings about what was given; otherwise this.
    #[must_use]
    pub fn and(self, other: Findings) -> Self {
        match self {
            Self::Input(Findings(own)) => Self::Input(Findings([own, other.0].concat())),
            error => error,
        }
    }
}

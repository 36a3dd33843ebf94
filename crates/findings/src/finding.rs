//! What is wrong with a file: where, what was found, what was expected, what to do.

use serde::{Deserialize, Serialize};
use std::fmt;

/// One thing wrong with a file that a user wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// The file as the user named it.
    pub file: String,
    /// Panel, piece, line or field, in the user's own ids: `panel S, piece 12`, `line 7, column "units"`.
    pub place: String,
    /// What was found there.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// What to do about it.
    pub hint: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {}: found {}, expected {}\n  {}",
            self.file, self.place, self.found, self.expected, self.hint
        )
    }
}

/// Everything wrong with what a user gave, never empty when it is an error.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Findings(pub Vec<Finding>);

impl fmt::Display for Findings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, finding) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{finding}")?;
        }
        Ok(())
    }
}

/// The most findings that are kept word for word; a file with more is not one that was mistyped.
const MOST_FINDINGS: usize = 1000;

/// Collects everything wrong with one file; past 1000 findings it only counts them.
#[derive(Debug, Clone)]
pub struct Report {
    file: String,
    findings: Vec<Finding>,
    more: usize,
}

impl Report {
    /// Nothing found yet in `file`, as the user named it.
    #[must_use]
    pub fn new(file: &str) -> Self {
        Self {
            file: file.to_owned(),
            findings: vec![],
            more: 0,
        }
    }

    /// The file as the user named it.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Adds one finding; see [`Finding`] for the parts.
    pub fn add(
        &mut self,
        place: impl Into<String>,
        found: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) {
        if self.findings.len() >= MOST_FINDINGS {
            self.more += 1;
            return;
        }
        self.findings.push(Finding {
            file: self.file.clone(),
            place: place.into(),
            found: found.into(),
            expected: expected.into(),
            hint: hint.into(),
        });
    }

    /// Adds findings about other files that belong to this one.
    pub fn extend(&mut self, findings: impl IntoIterator<Item = Finding>) {
        for finding in findings {
            if self.findings.len() >= MOST_FINDINGS {
                self.more += 1;
            } else {
                self.findings.push(finding);
            }
        }
    }

    /// What has been found so far.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// What has been found; the last one counts those past the limit.
    #[must_use]
    pub fn into_findings(mut self) -> Vec<Finding> {
        if self.more > 0 {
            self.findings.push(Finding {
                file: self.file,
                place: "further on".to_owned(),
                found: format!("{} more things wrong", self.more),
                expected: "a file with few".to_owned(),
                hint: "Correct those above first; many are alike.".to_owned(),
            });
        }
        self.findings
    }

    /// `value` when nothing was found.
    ///
    /// # Errors
    /// Everything that was found.
    pub fn into_result<T>(self, value: T) -> Result<T, Findings> {
        if self.findings.is_empty() {
            Ok(value)
        } else {
            Err(Findings(self.into_findings()))
        }
    }
}

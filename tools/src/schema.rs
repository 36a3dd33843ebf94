//! The job file's schema as a committed file, for editors that check a job while it is written.

use crate::files;
use anyhow::Result;
use cullet_job::Job;
use std::path::Path;

/// The schema as text.
///
/// # Errors
/// When it cannot be written as JSON.
pub fn text() -> Result<String> {
    Ok(serde_json::to_string_pretty(&Job::schema())? + "\n")
}

/// Writes the schema.
///
/// # Errors
/// When the file cannot be written.
pub fn write(path: &Path) -> Result<()> {
    files::write(path, &text()?)
}

//! A plan file, and what tells it from others.

use super::text;
use crate::folder::names::PLAN;
use cullet_job::{Finding, Findings};
use cullet_model::{Plan, READ};
use serde::Deserialize;
use sha2::{Digest, Sha256};
use std::path::Path;

/// Only the format, so that a plan of another version is called that and not a heap of unknown fields.
#[derive(Deserialize)]
struct Head {
    format: String,
}

/// A plan, and what tells it from every other one.
///
/// # Errors
/// What keeps it from being read: no such file, another format, JSON that is no plan.
pub fn plan(path: &Path) -> Result<(Plan, String), Findings> {
    let expected = format!(
        "a plan.json written by cullet plan (format \"{}\")",
        READ.join("\" or \"")
    );
    let refuse = |place: String, found: String, hint: &str| {
        Findings(vec![Finding {
            file: path.display().to_string(),
            place,
            found,
            expected: expected.clone(),
            hint: hint.into(),
        }])
    };
    let inside = path.join(PLAN);
    if path.is_dir() {
        let hint = if inside.is_file() {
            format!("Name the plan in it: {}", inside.display())
        } else {
            "There is no plan.json in it. Name the plan.json of the folder that cullet plan wrote.".to_owned()
        };
        return Err(refuse("the whole file".into(), "a folder".into(), &hint));
    }
    let text = text(path, "a plan.json written by cullet plan")?;
    let not_a_plan = |error: serde_json::Error| {
        let place = format!("line {}, column {}", error.line(), error.column());
        refuse(place, error.to_string(), "Make the plan again with cullet plan.")
    };
    let head: Head = serde_json::from_str(&text).map_err(not_a_plan)?;
    if !READ.contains(&head.format.as_str()) {
        return Err(refuse(
            "field \"format\"".into(),
            format!("\"{}\"", head.format),
            "Make the plan again with this version of the program.",
        ));
    }
    let plan = serde_json::from_str(&text).map_err(not_a_plan)?;
    let digest = digest(&text).map_err(not_a_plan)?;
    Ok((plan, digest))
}

/// A digest of what stands in a plan file, not of how it is set: 16 hexadecimal digits of its SHA-256 (FIPS 180-4).
///
/// # Errors
/// Text that is not JSON.
pub fn digest(text: &str) -> Result<String, serde_json::Error> {
    let content: serde_json::Value = serde_json::from_str(text)?;
    let hash = Sha256::digest(content.to_string());
    Ok(hash.iter().take(8).map(|byte| format!("{byte:02x}")).collect())
}

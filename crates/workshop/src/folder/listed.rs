//! The list of a plan's files with their digests: written with the plan, held against what lies beside it.

use super::content_of;
use super::names::{COMPARISON, PLAN, is_plan_name};
use crate::writing::digest;
use cullet_job::JOB_FORMAT;
use cullet_model::Plan;
use std::fs;
use std::path::Path;

/// The plan with the list of its files, and these, `plan.json` first. `others` are the files that go with it.
///
/// # Errors
/// A plan that cannot be written as JSON.
pub fn listed(plan: &Plan, others: Vec<(String, String)>) -> Result<Vec<(String, String)>, String> {
    let mut listed = plan.clone();
    listed.files = others
        .iter()
        .map(|(name, text)| (name.clone(), digest(text.as_bytes())))
        .collect();
    listed.files.insert(PLAN.to_owned(), content(plan));
    let text = serde_json::to_string(&listed).map_err(|error| error.to_string())?;
    let mut files = vec![(PLAN.to_owned(), text + "\n")];
    files.extend(others);
    Ok(files)
}

/// Digest of what stands in a plan but for its list of files, however it is set.
pub(super) fn content(plan: &Plan) -> String {
    let mut bare = plan.clone();
    bare.files.clear();
    let text = serde_json::to_string(&bare).unwrap_or_default();
    digest(as_of(&plan.format, text).as_bytes())
}

/// The text of a plan as the version of that format wrote it. A quote inside a text is never bare, so fields alone are met.
fn as_of(format: &str, mut text: String) -> String {
    if format == cullet_model::FORMAT {
        return text;
    }
    for field in ["", "_kg", "_cost"] {
        text = text.replace(&format!("\"pulled{field}\":"), &format!("\"drawn{field}\":"));
    }
    text.replacen(&format!("\"job\":{{\"format\":{JOB_FORMAT},"), "\"job\":{", 1)
}

/// Where the plan at `path` and the files beside it do not go together; empty where they do, for a `plan.json` without maps beside it or
/// under another name, and for plans of earlier versions, which list no files.
#[must_use]
pub fn differences(path: &Path, plan: &Plan) -> Vec<String> {
    let Some(own) = plan.files.get(PLAN) else {
        return vec![];
    };
    let mut found = vec![];
    if *own != content(plan) {
        found.push(format!("{PLAN} was changed after it was written"));
    }
    let folder = path.parent().unwrap_or(Path::new(""));
    let others = || plan.files.iter().filter(|(name, _)| *name != PLAN);
    // Under another name, or without a map beside it, it is a copy sent or kept alone.
    let has_maps = others().any(|(name, _)| name.starts_with("sheet-") && folder.join(name).exists());
    if !(has_maps && path.file_name().is_some_and(|name| name == PLAN)) {
        return found;
    }
    for (name, wanted) in others() {
        match content_of(&folder.join(name)) {
            Some(bytes) if digest(&bytes) == *wanted => {}
            Some(_) => found.push(format!("{name} is not the one that was written with the plan")),
            None => found.push(format!("{name}, which was written with the plan, is missing")),
        }
    }
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if is_plan_name(&name) && name != PLAN && !plan.files.contains_key(&name) {
            found.push(format!("{name} does not go with the plan"));
        }
    }
    found
}

/// The line of a comparison's page that says which table goes with it.
#[must_use]
pub fn goes_with(table: &[u8]) -> String {
    format!("<!-- {}: SHA-256 {} -->\n", COMPARISON[1], digest(table))
}

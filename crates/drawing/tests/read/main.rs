//! The readers against fixtures in `fixtures/drawings/read`: figures by independent programs beside each file.

mod dxf;
mod figures;
mod hostile;
mod svg;

use std::path::{Path, PathBuf};

/// Files of a folder of fixtures with an ending, in order; an empty folder is a broken checkout.
fn fixtures(folder: &str, ending: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../fixtures/drawings/read")
        .join(folder);
    let mut files: Vec<PathBuf> = std::fs::read_dir(&folder)
        .expect("a folder of fixtures")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == ending))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "no {ending} in {}", folder.display());
    files
}

fn json(path: &Path) -> Option<serde_json::Value> {
    let text = std::fs::read_to_string(path.with_extension("json")).ok()?;
    Some(serde_json::from_str(&text).expect("JSON"))
}

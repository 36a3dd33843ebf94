//! The shop file of a job: named, or found beside the job or in a folder above it.

use crate::reading;
use cullet_job::{Findings, Shop};
use std::env::current_dir;
use std::path::{Path, PathBuf};

/// What it is called where nobody names it.
const NAME: &str = "shop.json";

/// Which shop file counts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum WhichShop {
    /// The one beside the job or in the nearest folder above it, where there is one.
    #[default]
    Nearest,
    /// This one.
    Named(PathBuf),
    /// None.
    None,
}

/// Reads and checks the shop file that counts for `job`; `None` where there is none.
///
/// # Errors
/// All that is wrong with it.
pub fn read(job: &Path, which: &WhichShop) -> Result<Option<Shop>, Findings> {
    let path = match which {
        WhichShop::Named(named) => Some(named.clone()),
        WhichShop::None => None,
        WhichShop::Nearest => find(job),
    };
    let Some(path) = path else { return Ok(None) };
    let text = reading::text(&path, "a shop file (JSON)")?;
    Shop::read(&path.display().to_string(), &text).map(Some)
}

/// The nearest one: by the job's own folder where it lies there, else by the shortest name that it has from here.
fn find(job: &Path) -> Option<PathBuf> {
    let folder = job.parent().unwrap_or(Path::new(""));
    let beside = folder.join(NAME);
    if beside.is_file() {
        return Some(beside);
    }
    let folder = in_full(folder);
    let mut above = folder.ancestors().skip(1).map(|folder| folder.join(NAME));
    let found = above.find(|path| path.is_file())?;
    let here = current_dir().and_then(|here| here.canonicalize()).ok();
    let short = here.and_then(|here| found.strip_prefix(here).ok().map(Path::to_owned));
    Some(short.unwrap_or(found))
}

/// A folder's name in full, links and `..` followed as far as it is there, so that what is above is above.
pub(crate) fn in_full(folder: &Path) -> PathBuf {
    // The folder of a file that is named alone.
    let folder = match folder.as_os_str().is_empty() {
        true => Path::new("."),
        false => folder,
    };
    let folder = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
    for there in folder.ancestors() {
        if let (Ok(full), Ok(rest)) = (there.canonicalize(), folder.strip_prefix(there)) {
            return full.join(rest);
        }
    }
    folder
}

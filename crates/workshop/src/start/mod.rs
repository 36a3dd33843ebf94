//! A new job: from drawings, from a piece list, or an example to fill in. Writes nothing over anything.

mod drawings;
mod example;
mod text;

pub use text::job as job_text;

use crate::shop::{self, WhichShop};
use crate::writing::{Care, NotWritten, Place, cannot_write, in_place};
use crate::{Error, reading};
use cullet_job::{Finding, Findings, Job, PartFile, ReadWith, Shop, list_as_job};
use std::fs;
use std::path::{Path, PathBuf};

/// The files that a job is started with.
const JOB: &str = "job.json";
/// The piece list of an example.
pub const LIST: &str = "pieces.csv";
const STOCK: &str = "stock.csv";

/// What a job is started from.
#[derive(Debug, Clone, Default)]
pub struct StartRequest {
    /// The folder in which it will lie.
    pub folder: PathBuf,
    /// Drawings, or one piece list; none for an example to fill in.
    pub files: Vec<PathBuf>,
    /// Millimetres in a unit of the drawings, where they do not say.
    pub unit_mm: Option<f64>,
    /// The parts of the drawings that are panels.
    pub part: Option<PartFile>,
    /// The shop file.
    pub shop: WhichShop,
}

/// A job before it is written.
#[derive(Debug)]
pub struct Started {
    folder: PathBuf,
    /// The job file or the piece list: name and content.
    job: (&'static str, String),
    stock: String,
    notes: Vec<String>,
}

/// A job that was written.
#[derive(Debug)]
pub struct Written {
    /// The job file or the piece list.
    pub job: PathBuf,
    /// The stock list beside it.
    pub stock: PathBuf,
    /// Whether the stock list was there before and stays as it is.
    pub had_stock: bool,
    /// What was assumed, a line each.
    pub notes: Vec<String>,
}

/// What the files say of a job, before any of them is written.
struct Content {
    job: (&'static str, String),
    stock: String,
    notes: Vec<String>,
}

impl Started {
    /// Reads the drawings or the list and changes nothing.
    ///
    /// # Errors
    /// All that is wrong with them.
    pub fn read(request: &StartRequest) -> Result<Self, Error> {
        // The shop file that will count once the job stands there.
        let shop = shop::read(&request.folder.join(JOB), &request.shop)?;
        let shop = shop.as_ref();
        let content = match request.files.as_slice() {
            [] => example::example(shop),
            [list] if is_list(list) => from_list(list, shop)?,
            drawings => drawings::start(request, drawings, shop)?,
        };
        let Content { job, stock, notes } = content;
        Ok(Self {
            folder: request.folder.clone(),
            job,
            stock,
            notes,
        })
    }

    /// Writes the job, and a stock list where there is none.
    ///
    /// # Errors
    /// A job that is there already, or a disk that does not take it.
    pub fn write(self) -> Result<Written, Error> {
        let folder = &self.folder;
        let care = Care::default();
        let place = |name: &str| -> Result<(PathBuf, Place), Finding> {
            let path = folder.join(name);
            let place = care.place(&path, |_| false).map_err(|finding| Finding {
                hint: "Name another folder: a new job is written over nothing.".into(),
                ..finding
            })?;
            Ok((path, place))
        };
        let (job_name, job_text) = &self.job;
        let had_stock = folder.join(STOCK).symlink_metadata().is_ok();
        let mut files = vec![(place(job_name)?, job_text)];
        if !had_stock {
            files.push((place(STOCK)?, &self.stock));
        }
        let cannot = |path: &Path, error| NotWritten::CannotWrite(cannot_write(path, &error));
        let putting = in_place();
        fs::create_dir_all(folder).map_err(|error| cannot(folder, error))?;
        for ((path, place), content) in &files {
            place.write(content.as_bytes()).map_err(|error| cannot(path, error))?;
        }
        putting.done();
        Ok(Written {
            job: folder.join(job_name),
            stock: folder.join(STOCK),
            had_stock,
            notes: self.notes,
        })
    }
}

/// Whether a file is a piece list by its name.
#[must_use]
pub fn is_list(path: &Path) -> bool {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| ["csv", "tsv", "txt"].contains(&ending.as_str()))
}

fn from_list(list: &Path, shop: Option<&Shop>) -> Result<Content, Findings> {
    let name = list.display().to_string();
    let content = reading::text(list, "a piece list (CSV)")?;
    let (tree, notes) = list_as_job(&name, &content, shop)?;
    let with = ReadWith { shop, choice: None };
    let job = Job::read_as(&name, &content, with, |_, _| {})?;
    Ok(Content {
        job: (JOB, text::job(&tree)),
        stock: text::stock(&job),
        notes,
    })
}

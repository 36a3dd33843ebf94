//! A plan, in the steps in which it is made: read, begin, search, make the files, write, hold the glass.

use crate::folder::{Folder, Holds, names};
use crate::on_table::{ForTable, Made, NotMade};
use crate::reading::{Glass, Inputs};
use crate::shop::{self, WhichShop};
use crate::writing::{Care, in_place};
use crate::{Error, book, reading};
use cullet_drawing::expand::PanelDrawing;
use cullet_job::{Finding, Findings, ReadWith, Shop, TableFile};
use cullet_model::{Effort, Layout, Plan};
use cullet_output::{bench, book as job_book, scores, sheet_map, tables};
use cullet_planner::Progress;
use cullet_rack::{Rack, Signs, Stamp};
use cullet_verify::{Fault, verify};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// How long a search runs when nothing is said, seconds: the demo job is planned well within half a minute.
pub const DEFAULT_SECONDS: f64 = 20.0;

/// A job to plan.
#[derive(Debug, Clone)]
pub struct PlanRequest {
    /// The job file or piece list.
    pub job: PathBuf,
    /// Its shop file.
    pub shop: WhichShop,
    /// What it is cut from.
    pub glass: Glass,
    /// The choice that is planned, by its name or as it is typed.
    pub choice: Option<String>,
    /// The folder to write to.
    pub out: PathBuf,
    /// Whether files there that are not the program's may be written over.
    pub replace: bool,
    /// How long to search.
    pub effort: Effort,
    /// Threads that search; 0 for one a core.
    pub threads: usize,
    /// The signs of the tables that are written.
    pub signs: Signs,
}

impl PlanRequest {
    /// A job as it stands with the nearest shop file, searched for [`DEFAULT_SECONDS`] on every core.
    pub fn new(job: impl Into<PathBuf>, glass: Glass, out: impl Into<PathBuf>) -> Self {
        Self {
            job: job.into(),
            shop: WhichShop::Nearest,
            glass,
            choice: None,
            out: out.into(),
            replace: false,
            effort: Effort::seconds(1, DEFAULT_SECONDS),
            threads: 0,
            signs: Signs::default(),
        }
    }
}

/// A job that was read, with its glass and the folder to write to.
#[derive(Debug)]
pub struct Ready {
    request: PlanRequest,
    inputs: Inputs,
    shop: Option<Shop>,
    folder: Folder,
    warnings: Vec<String>,
}

/// The files of a plan, the first one `plan.json`, before they are written.
#[derive(Debug)]
pub struct Files {
    /// Name and content.
    pub files: Vec<(String, String)>,
    /// What should be known of the files for the table: sheets that it cannot score, scores that grow old.
    pub warnings: Vec<String>,
}

impl Ready {
    /// Reads everything and changes nothing.
    ///
    /// # Errors
    /// All that is wrong with the job, the glass and the folder, at once; a plan there that glass is held for.
    pub fn read(request: PlanRequest) -> Result<Self, Error> {
        let shop = shop::read(&request.job, &request.shop)?;
        let inputs = inputs(&request, shop.as_ref()).and_then(whole);
        let care = Care::new([request.job.as_path(), request.glass.file()], request.replace);
        let folder = Folder::examine(&request.out, Holds::Plan, care);
        let (inputs, mut folder) = match (inputs, folder) {
            (Ok(inputs), Ok(folder)) => (inputs, folder),
            (Err(error), Err(folder)) => return Err(error.and(folder)),
            (Err(error), _) => return Err(error),
            (_, Err(folder)) => return Err(folder.into()),
        };
        folder.reads(inputs.job.drawings.iter().map(|drawing| &drawing.file));
        folder.reads(shop.iter().map(Shop::file));
        if let Glass::Rack(rack) = &request.glass {
            nothing_held(&folder, &request.out, rack)?;
        }
        let warnings = warnings(&request, &inputs);
        Ok(Self {
            request,
            inputs,
            shop,
            folder,
            warnings,
        })
    }

    /// What was asked for.
    #[must_use]
    pub fn request(&self) -> &PlanRequest {
        &self.request
    }

    /// The job and the glass.
    #[must_use]
    pub fn inputs(&self) -> &Inputs {
        &self.inputs
    }

    /// What should be looked at in the job and its drawings, a finding each.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// Makes the folder and takes it for this run: before the search rather than after it.
    ///
    /// # Errors
    /// A folder that another run is writing to, or that cannot be written.
    pub fn begin(&mut self) -> Result<(), Error> {
        Ok(self.folder.begin()?)
    }

    /// Searches until the effort is used up or `cancel` is set; the best plan so far. `show` is called from the searching threads.
    ///
    /// # Errors
    /// Threads that cannot be started.
    pub fn search(&self, cancel: &AtomicBool, show: &(dyn Fn(Progress) + Sync)) -> Result<Plan, Error> {
        let Self { request, inputs, .. } = self;
        let threads = rayon::ThreadPoolBuilder::new().num_threads(request.threads).build();
        let threads = threads.map_err(|error| Finding {
            file: "command line".into(),
            place: "--threads".into(),
            found: format!("{} that could not be started ({error})", request.threads),
            expected: "as many as the machine can start".into(),
            hint: "Leave it out for one thread a core.".into(),
        })?;
        let search = || cullet_planner::plan(&inputs.job.job, &inputs.stock, request.effort, cancel, show);
        let plan = threads.install(search);
        Ok(Plan {
            rack: inputs.rack.clone(),
            ..plan
        })
    }

    /// Verifies the plan and makes every file of it.
    ///
    /// # Errors
    /// A plan, or a file for the table, that fails its check.
    pub fn files(&self, plan: &Plan) -> Result<Files, Error> {
        verified(plan, "the plan")?;
        let table = self.shop.as_ref().and_then(Shop::table);
        let (on_table, warnings) = on_table(plan, table)?;
        let drawings = &self.inputs.job.drawings;
        Ok(Files {
            files: files(plan, &self.warnings, drawings, self.request.signs, &on_table)?,
            warnings,
        })
    }

    /// Writes the files, all of them or none, and returns the names of those of an earlier plan that it removed.
    ///
    /// # Errors
    /// A file that is not the program's in the way, or a disk that does not take them.
    pub fn write(self, files: &Files) -> Result<Vec<String>, Error> {
        Ok(self.folder.write(&files.files)?)
    }
}

fn inputs(request: &PlanRequest, shop: Option<&Shop>) -> Result<Inputs, Error> {
    let with = ReadWith { shop, choice: None };
    let Some(asked) = &request.choice else {
        return reading::inputs(&request.job, &request.glass, with);
    };
    let plain = reading::job(&request.job, with)?;
    let choice = reading::choice(&request.job, &plain.job, asked)?;
    let with = ReadWith {
        choice: Some(&choice),
        ..with
    };
    reading::inputs(&request.job, &request.glass, with)
}

/// A choice with pieces that cannot be made is refused as a job with such pieces is.
fn whole(inputs: Inputs) -> Result<Inputs, Error> {
    let impossible = &inputs.job.job.impossible;
    if impossible.is_empty() {
        return Ok(inputs);
    }
    let mut why: Vec<Finding> = impossible.iter().map(|one| one.why.clone()).collect();
    why.dedup();
    Err(Findings(why).into())
}

fn warnings(request: &PlanRequest, inputs: &Inputs) -> Vec<String> {
    let drawings = &inputs.job.drawings;
    let panels: Vec<&str> = drawings.iter().map(|drawing| drawing.panel.as_str()).collect();
    let of_job = inputs.job.job.warnings(&request.job.display().to_string(), &panels);
    let all = inputs.job.warnings().into_iter().chain(of_job);
    all.map(|warning| warning.to_string()).collect()
}

/// Refuses to replace a plan that glass is held for: nothing would be left to release it or to book it with.
pub(crate) fn nothing_held(folder: &Folder, out: &Path, rack: &Path) -> Result<(), Error> {
    let Some(cut) = folder.earlier_plan().and_then(|plan| book::cut(&plan)) else {
        return Ok(());
    };
    let held = Rack::open_to_read(rack)?.held_for(&cut)?;
    if held.is_empty() {
        return Ok(());
    }
    let plan = out.join(names::PLAN).display().to_string();
    Err(Finding {
        place: "folder to write to".into(),
        found: format!("a plan that glass is held for: {}", held.join(", ")),
        expected: "a plan that nothing is held for, or none yet".into(),
        hint: format!(
            "Let go of it first (cullet rack release {plan} --rack {}), or choose another folder with --out.",
            rack.display()
        ),
        file: plan,
    }
    .into())
}

/// Holds a written plan's glass on the rack; the tags held, none for a plan that uses no glass of a rack.
///
/// # Errors
/// Glass that was taken since, or a rack that cannot be written.
pub fn hold(rack: &Path, plan: &Plan, stamp: &Stamp) -> Result<Vec<String>, Error> {
    let Some(cut) = book::cut(plan) else {
        return Ok(vec![]);
    };
    let putting = in_place();
    let held = Rack::open(rack)?.hold(&cut, stamp)?;
    putting.done();
    Ok(held)
}

/// Whether the plan reads back the same from its file and passes. JSON has no NaN and writes `null` for it without a word;
/// reading back finds that, and makes what is verified the very thing that is written. `what` names it in the error.
pub(crate) fn verified(plan: &Plan, what: &str) -> Result<(), Error> {
    let refused = |faults: Vec<String>| {
        Err(Error::Internal {
            what: what.into(),
            faults,
        })
    };
    let text = match serde_json::to_string(plan) {
        Ok(text) => text,
        Err(error) => return refused(vec![error.to_string()]),
    };
    let read_back: Plan = match serde_json::from_str(&text) {
        Ok(plan) => plan,
        Err(error) => {
            let words = format!("the plan cannot be read back, a number in it is not finite: {error}");
            return refused(vec![words]);
        }
    };
    if read_back != *plan {
        return refused(vec!["the plan reads back as another one".into()]);
    }
    match verify(&read_back) {
        faults if faults.is_empty() => Ok(()),
        faults => refused(faults.iter().map(fault_in_words).collect()),
    }
}

/// A fault of a plan on one line.
#[must_use]
pub fn fault_in_words(fault: &Fault) -> String {
    match fault.sheet {
        0 => format!("{}: {}", fault.place, fault.what),
        sheet => format!("map {sheet}, {}: {}", fault.place, fault.what),
    }
}

/// The sheets of a plan, in the order of their numbers.
pub fn layouts(plan: &Plan) -> impl Iterator<Item = &Layout> {
    plan.glasses.iter().flat_map(|glass| &glass.layouts)
}

/// The files for the cutting table, where there is one, of every sheet that it can score, by its number; and what should be known of
/// them.
fn on_table(plan: &Plan, table: Option<&TableFile>) -> Result<(BTreeMap<u32, Made>, Vec<String>), Error> {
    let Some(table) = table else {
        return Ok((BTreeMap::new(), vec![]));
    };
    let sheets: Vec<&Layout> = layouts(plan).collect();
    let made: Vec<_> = sheets
        .into_par_iter()
        .map(|layout| (layout.number, ForTable::of(plan, layout).make(table)))
        .collect();
    let (mut files, mut warnings) = (BTreeMap::new(), vec![]);
    for (number, made) in made {
        match made {
            Ok(made) => {
                warnings.extend(made.warning.clone());
                files.insert(number, made);
            }
            Err(NotMade::Cannot(error)) => warnings.push(format!("map {number}: no files for the table: {error}")),
            Err(NotMade::Faults(name, faults)) => return Err(faulty(name, &faults)),
        }
    }
    Ok((files, warnings))
}

/// A file for the table that does not score what it should.
pub(crate) fn faulty(name: String, faults: &[cullet_tablecheck::Fault]) -> Error {
    Error::Internal {
        faults: faults.iter().map(|fault| format!("{name}: {fault}")).collect(),
        what: name,
    }
}

/// The plan's file, which lists the others, and these.
pub(crate) fn files(
    plan: &Plan,
    warnings: &[String],
    drawings: &[PanelDrawing],
    signs: Signs,
    on_table: &BTreeMap<u32, Made>,
) -> Result<Vec<(String, String)>, Error> {
    let fault = |error: tables::TableError| Error::Fault(error.to_string());
    let sheets: Vec<&Layout> = layouts(plan).collect();
    let words = |layout: &Layout| on_table.get(&layout.number).map(|made| made.words.as_str());
    let map = |layout: &&Layout| sheet_map::draw_for_table(plan, layout, words(layout));
    let maps: Vec<String> = sheets.par_iter().map(map).collect();
    let mut files = vec![
        (names::YIELD.to_string(), tables::yield_csv(plan, signs).map_err(fault)?),
        (
            names::BREAKING.to_string(),
            bench::breaking_csv(plan, signs).map_err(fault)?,
        ),
        (names::BOOK.to_string(), job_book::page(plan, &maps, warnings, drawings)),
    ];
    if let Some(list) = tables::buy_csv(plan, signs).map_err(fault)? {
        files.push((names::BUY.to_string(), list));
    }
    let of_sheets = sheets.into_par_iter().zip(maps).flat_map_iter(|(layout, map)| {
        let number = u64::from(layout.number);
        let made = on_table.get(&layout.number);
        let mut files = vec![
            (names::sheet_map(number), map),
            (names::sheet_scores(number), scores::draw(plan, layout)),
            (
                names::sheet_breaks(number),
                bench::page_for_table(plan, layout, words(layout)),
            ),
        ];
        files.extend(made.into_iter().flat_map(|made| made.files.iter().cloned()));
        files
    });
    files.extend(of_sheets.collect::<Vec<_>>());
    crate::folder::listed(plan, files).map_err(Error::Fault)
}

//! What the end-to-end tests share: a bench to work at, jobs and stock lists written the way a workshop would.
//!
//! Every [`Bench`] is a fresh folder. [`Bench::plan`] writes a job and a stock list there and runs the program in process,
//! as a user would type it.

pub mod any_job;
pub mod hostile;
pub mod shapes;
pub mod workshop;

use cullet::{Exit, Session};
use cullet_model::Plan;
use serde_json::{Value, json};
use std::error::Error;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::Duration;
use tempfile::TempDir;

/// What a test returns: any error is a failure that prints itself.
pub type Checked = Result<(), Box<dyn Error>>;

/// Says that a test passes without having looked at `what`, because the machine has not what it takes. `.ci/run` repeats it in its
/// last lines: it names a file in `CULLET_PASSED_OVER` that the words are added to.
///
/// # Errors
/// If they cannot be added there.
pub fn passed_over(what: &str) -> std::io::Result<()> {
    let Some(file) = std::env::var_os("CULLET_PASSED_OVER") else {
        return writeln!(std::io::stderr(), "passed over: {what}");
    };
    let mut file = fs::OpenOptions::new().create(true).append(true).open(file)?;
    writeln!(file, "{what}")
}

/// A fresh folder, removed at the end.
#[derive(Debug)]
pub struct Bench {
    home: TempDir,
}

/// What a run of the program came to.
#[derive(Debug)]
pub struct Outcome {
    /// The exit code.
    pub exit: Exit,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Bench {
    /// An empty bench.
    ///
    /// # Errors
    /// If no temporary folder can be made.
    pub fn new() -> Result<Self, Box<dyn Error>> {
        Ok(Self {
            home: tempfile::tempdir()?,
        })
    }

    /// Where `name` is on this bench.
    #[must_use]
    pub fn path(&self, name: &str) -> PathBuf {
        self.home.path().join(name)
    }

    /// Puts a file there.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn write(&self, name: &str, text: &str) -> Result<PathBuf, Box<dyn Error>> {
        let path = self.path(name);
        fs::write(&path, text)?;
        Ok(path)
    }

    /// Plans `job` from the stock list `stock` into the folder `out` of this bench.
    ///
    /// # Errors
    /// If the two files cannot be written; what the program makes of them is in the outcome.
    pub fn plan(&self, job: &Value, stock: &str, options: &[&str]) -> Result<Outcome, Box<dyn Error>> {
        Ok(run(&self.plan_args(job, stock, options)?))
    }

    /// The same, stopped as by Ctrl-C once it has taken so long.
    ///
    /// # Errors
    /// As [`Bench::plan`].
    pub fn plan_within(
        &self,
        job: &Value,
        stock: &str,
        options: &[&str],
        longest: Duration,
    ) -> Result<Outcome, Box<dyn Error>> {
        let args = self.plan_args(job, stock, options)?;
        let cancel = AtomicBool::new(false);
        let (done, is_done) = mpsc::channel::<()>();
        let stop = &cancel;
        Ok(std::thread::scope(|scope| {
            scope.spawn(move || {
                if is_done.recv_timeout(longest) == Err(RecvTimeoutError::Timeout) {
                    stop.store(true, Ordering::Relaxed);
                }
            });
            let outcome = run_with(&args, stop);
            drop(done);
            outcome
        }))
    }

    fn plan_args(&self, job: &Value, stock: &str, options: &[&str]) -> Result<Vec<String>, Box<dyn Error>> {
        let job = self.write("job.json", &job.to_string())?;
        let stock = self.write("stock.csv", stock)?;
        let mut args = vec![
            "plan".to_string(),
            job.display().to_string(),
            "--stock".into(),
            stock.display().to_string(),
            "--out".into(),
            self.path("out").display().to_string(),
        ];
        args.extend(options.iter().map(ToString::to_string));
        Ok(args)
    }

    /// The plan that [`Bench::plan`] left, after `cullet check` found that it holds.
    ///
    /// # Errors
    /// If there is none, it does not hold or it cannot be read.
    pub fn checked_plan(&self) -> Result<Plan, Box<dyn Error>> {
        let path = self.path("out").join("plan.json");
        let checked = run(&["check".to_string(), path.display().to_string()]);
        if checked.exit != Exit::Done {
            return Err(format!("the plan was not found to hold: {checked:?}").into());
        }
        Ok(serde_json::from_str(&fs::read_to_string(path)?)?)
    }

    /// Names of everything in a folder of this bench, sorted; none where it does not exist.
    ///
    /// # Errors
    /// If it cannot be read.
    pub fn names(&self, folder: &str) -> Result<Vec<String>, Box<dyn Error>> {
        names(&self.path(folder))
    }
}

/// Names of everything in a folder, sorted; none where it does not exist.
///
/// # Errors
/// If it cannot be read.
pub fn names(folder: &Path) -> Result<Vec<String>, Box<dyn Error>> {
    if !folder.exists() {
        return Ok(vec![]);
    }
    let mut names = vec![];
    for entry in fs::read_dir(folder)? {
        names.push(entry?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// Runs the program in this process; `args` without its name.
#[must_use]
pub fn run(args: &[String]) -> Outcome {
    run_with(args, &AtomicBool::new(false))
}

fn run_with(args: &[String], cancel: &AtomicBool) -> Outcome {
    let (mut out, mut err) = (vec![], vec![]);
    let all = std::iter::once("cullet").chain(args.iter().map(String::as_str));
    let exit = cullet::run(all, &mut Session::new(&mut out, &mut err, cancel));
    Outcome {
        exit,
        out: String::from_utf8_lossy(&out).into_owned(),
        err: String::from_utf8_lossy(&err).into_owned(),
    }
}

/// The same from the words as they are typed.
#[must_use]
pub fn typed(words: &[&str]) -> Outcome {
    run(&words.iter().map(ToString::to_string).collect::<Vec<_>>())
}

/// Glass `code` without grain, allowance, trim or clearance: for checks against geometry alone. It may not be turned over.
#[must_use]
pub fn bare_glass(code: &str, thickness: f64) -> Value {
    json!({
        "code": code, "name": format!("glass {code}"), "thickness": thickness, "grain": "none", "may_turn_over": false,
        "scored_face": "show", "grind_allowance": 0, "narrowest_strip": 0, "edge_trim": 0, "price": 60, "price_unit": "m2"
    })
}

/// A piece of `glass` with these corner points.
#[must_use]
pub fn piece(number: &str, glass: &str, corners: &[[f64; 2]]) -> Value {
    json!({ "number": number, "glass": glass, "outline": corners })
}

/// A rectangular piece of `glass`.
#[must_use]
pub fn rectangle(number: &str, glass: &str, width: f64, height: f64) -> Value {
    piece(
        number,
        glass,
        &[[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]],
    )
}

/// A job in millimetres, y up, of one panel `P` made `quantity` times.
#[must_use]
pub fn job(glasses: &[Value], quantity: u32, pieces: &[Value]) -> Value {
    json!({
        "format": 2, "name": "test", "units": "mm", "y": "up", "glasses": glasses,
        "panels": [{ "id": "P", "quantity": quantity, "pieces": pieces }]
    })
}

/// A stock list in millimetres: rectangular sheets on hand, one line each.
#[must_use]
pub fn sheets(lines: &[Sheet<'_>]) -> String {
    let mut text = String::from("kind,tag,glass,units,width,height,count\n");
    for sheet in lines {
        text += &format!(
            "sheet,{},{},mm,{},{},{}\n",
            sheet.tag, sheet.glass, sheet.width, sheet.height, sheet.count
        );
    }
    text
}

/// Equal sheets on hand, for [`sheets`].
#[derive(Debug, Clone, Copy)]
pub struct Sheet<'a> {
    /// Tag of the line.
    pub tag: &'a str,
    /// Code of its glass.
    pub glass: &'a str,
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// How many.
    pub count: u32,
}

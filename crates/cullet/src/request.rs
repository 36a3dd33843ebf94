//! What is asked for, once the typed arguments have been checked.

use crate::arguments::{
    Arguments, BookArguments, Command, CompareArguments, DrawingArguments, JobCommand, NewArguments, OpenArguments,
    PlanArguments, RackCommand, RecutArguments, SchemaOf, TableFilesArguments,
};
use clap_complete::Shell;
use cullet_job::{Finding, Findings};
use cullet_model::Effort;
use cullet_workshop::compare::{CompareRequest, DEFAULT_SECONDS_OF_A_RUN};
use cullet_workshop::plan::{DEFAULT_SECONDS, PlanRequest};
use cullet_workshop::reading::Glass;
use std::num::NonZeroUsize;
use std::path::PathBuf;

/// The longest search, seconds: a day.
const MOST_SECONDS: f64 = 86_400.0;
/// The most threads: beyond any machine in a workshop, short of exhausting one.
const MOST_THREADS: usize = 1024;

/// One thing to do.
#[derive(Debug)]
pub(crate) enum Request {
    Plan(PlanAndHold),
    New(NewArguments),
    Open(OpenArguments),
    Job(JobCommand),
    Compare(CompareRequest),
    Check { plan: PathBuf },
    Drawing(DrawingArguments),
    Book(BookArguments),
    Recut(RecutArguments),
    Rack(RackCommand),
    Help(Vec<String>),
    Table(TableFilesArguments),
    Schema(SchemaOf),
    Completions { shell: Shell },
    Man { command: Option<String> },
}

/// A job to plan, and what becomes of its glass.
#[derive(Debug)]
pub(crate) struct PlanAndHold {
    pub(crate) plan: PlanRequest,
    /// Whether its glass is held on the rack.
    pub(crate) hold: bool,
}

impl Request {
    /// Checks what was typed, all of it at once.
    pub(crate) fn from_typed(typed: Arguments) -> Result<Self, Findings> {
        Ok(match typed.command {
            Command::Plan(typed) => Self::Plan(PlanAndHold::from_typed(typed)?),
            Command::New(typed) => Self::New(typed),
            Command::Open(typed) => Self::Open(typed),
            Command::Job { command } => Self::Job(command),
            Command::Compare(typed) => Self::Compare(to_compare(typed)?),
            Command::Check { plan } => Self::Check { plan },
            Command::Drawing(typed) => Self::Drawing(typed),
            Command::Book(typed) => Self::Book(typed),
            Command::Recut(typed) => Self::Recut(typed),
            Command::Rack { command } => Self::Rack(command),
            Command::Help { about } => Self::Help(about),
            Command::Table(typed) => Self::Table(typed),
            Command::Schema { of } => Self::Schema(of),
            Command::Completions { shell } => Self::Completions { shell },
            Command::Man { command } => Self::Man { command },
        })
    }
}

impl PlanAndHold {
    fn from_typed(typed: PlanArguments) -> Result<Self, Findings> {
        let mut findings = vec![];
        let effort = effort(typed.seconds, typed.rounds, typed.seed, DEFAULT_SECONDS, &mut findings);
        let threads = threads(typed.threads, &mut findings);
        let Some(glass) = glass(typed.given.stock, typed.given.rack, &mut findings).filter(|_| findings.is_empty())
        else {
            return Err(Findings(findings));
        };
        Ok(Self {
            plan: PlanRequest {
                job: typed.given.job,
                shop: typed.given.shop.which(),
                glass,
                choice: typed.choice,
                out: typed.out,
                replace: typed.replace,
                effort,
                threads,
                signs: typed.tables.signs(),
            },
            hold: typed.hold,
        })
    }
}

fn to_compare(typed: CompareArguments) -> Result<CompareRequest, Findings> {
    let mut findings = vec![];
    let effort = effort(
        typed.seconds,
        typed.rounds,
        typed.seed,
        DEFAULT_SECONDS_OF_A_RUN,
        &mut findings,
    );
    let threads = threads(typed.threads, &mut findings);
    let Some(glass) = glass(typed.given.stock, typed.given.rack, &mut findings).filter(|_| findings.is_empty()) else {
        return Err(Findings(findings));
    };
    Ok(CompareRequest {
        job: typed.given.job,
        shop: typed.given.shop.which(),
        glass,
        tries: typed.tries,
        out: typed.out,
        replace: typed.replace,
        effort,
        seeds: typed.seeds,
        threads,
        signs: typed.tables.signs(),
    })
}

fn effort(
    seconds: Option<f64>,
    rounds: Option<u64>,
    seed: u64,
    default_seconds: f64,
    findings: &mut Vec<Finding>,
) -> Effort {
    if let Some(seconds) = seconds
        && !(seconds > 0.0 && seconds <= MOST_SECONDS)
    {
        findings.push(finding(
            "--seconds",
            &seconds,
            "more than 0, at most 86400",
            "20 suits most windows.",
        ));
    }
    if rounds == Some(0) {
        findings.push(finding("--rounds", &0, "at least 1", "50 suit most windows."));
    }
    match rounds {
        Some(rounds) => Effort::rounds(seed, rounds),
        None => Effort::seconds(seed, seconds.unwrap_or(default_seconds)),
    }
}

/// 0 for one a core.
fn threads(typed: Option<NonZeroUsize>, findings: &mut Vec<Finding>) -> usize {
    let threads = typed.map_or(0, usize::from);
    if threads > MOST_THREADS {
        findings.push(finding(
            "--threads",
            &threads,
            "at most 1024",
            "Leave it out for one thread a core.",
        ));
    }
    threads
}

fn glass(stock: Option<PathBuf>, rack: Option<PathBuf>, findings: &mut Vec<Finding>) -> Option<Glass> {
    match (stock, rack) {
        (Some(list), None) => Some(Glass::List(list)),
        (None, Some(rack)) => Some(Glass::Rack(rack)),
        _ => {
            findings.push(finding(
                "--stock, --rack",
                &"both or neither",
                "one of the two",
                "Name a stock list or a rack.",
            ));
            None
        }
    }
}

fn finding(option: &str, found: &dyn std::fmt::Display, expected: &str, hint: &str) -> Finding {
    Finding {
        file: "command line".into(),
        place: option.into(),
        found: found.to_string(),
        expected: expected.into(),
        hint: hint.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    fn asked(options: &[&str]) -> Result<PlanRequest, Findings> {
        let typed = ["cullet", "plan", "job.json", "--stock", "stock.csv", "--out", "window"];
        let typed = Arguments::try_parse_from(typed.iter().chain(options)).expect("a well-formed command line");
        match Request::from_typed(typed)? {
            Request::Plan(request) => Ok(request.plan),
            other => panic!("asked for a plan, got {other:?}"),
        }
    }

    #[test]
    fn effort_is_counted_in_seconds_unless_rounds_are_given() {
        let effort = asked(&[]).expect("valid").effort;
        assert_eq!(effort, Effort::seconds(1, DEFAULT_SECONDS));
        let effort = asked(&["--rounds", "7", "--seed", "3"]).expect("valid").effort;
        assert_eq!(effort, Effort::rounds(3, 7));
    }

    #[test]
    fn values_out_of_range_are_all_named() {
        let found = asked(&["--seconds", "NaN", "--threads", "5000"]).expect_err("out of range");
        let places: Vec<&str> = found.0.iter().map(|f| f.place.as_str()).collect();
        assert_eq!(places, ["--seconds", "--threads"]);
        assert!(asked(&["--seconds", "0"]).is_err());
        assert!(asked(&["--rounds", "0"]).is_err());
    }

    #[test]
    fn seconds_and_rounds_exclude_each_other() {
        let typed = [
            "cullet",
            "plan",
            "j",
            "--stock",
            "s",
            "--out",
            "o",
            "--seconds",
            "1",
            "--rounds",
            "1",
        ];
        assert!(Arguments::try_parse_from(typed).is_err());
    }

    #[test]
    fn the_command_line_is_consistent() {
        use clap::CommandFactory;
        Arguments::command().debug_assert();
    }
}

//! What the commands take that search: plan and compare.

use super::{JobArguments, TableArguments};
use std::num::NonZeroUsize;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(crate) struct PlanArguments {
    #[command(flatten)]
    pub(crate) given: JobArguments,

    /// Plan this choice: one that the job file names, or changes as for `cullet compare --try`
    #[arg(long, value_name = "CHOICE")]
    pub(crate) choice: Option<String>,

    /// Hold the glass of the plan on the rack, so that no other plan takes it
    #[arg(long, requires = "rack", conflicts_with = "stock")]
    pub(crate) hold: bool,

    /// The folder to write to; it is created if needed
    #[arg(long, value_name = "FOLDER")]
    pub(crate) out: PathBuf,

    /// Write over files there that this program did not write or that were changed since
    #[arg(long)]
    pub(crate) replace: bool,

    /// How long to search, in seconds [default: 20]
    #[arg(long, value_name = "N", conflicts_with = "rounds", allow_negative_numbers = true)]
    pub(crate) seconds: Option<f64>,

    /// How long to search, in rounds: the plan then depends on the input and the seed alone, not on the machine
    #[arg(long, value_name = "N")]
    pub(crate) rounds: Option<u64>,

    /// Seed of the search's random numbers [default: 1]
    #[arg(long, value_name = "N", default_value_t = 1, hide_default_value = true)]
    pub(crate) seed: u64,

    /// How many threads search [default: one for each core]
    #[arg(long, value_name = "N")]
    pub(crate) threads: Option<NonZeroUsize>,

    #[command(flatten)]
    pub(crate) tables: TableArguments,
}

#[derive(Debug, clap::Args)]
pub(crate) struct CompareArguments {
    #[command(flatten)]
    pub(crate) given: JobArguments,

    /// A choice to try [default: all that the job file names]; may be repeated
    ///
    /// The name of one in the job file, or changes with commas between them: CLEAR6=CLEAR5 (the pieces of one glass from
    /// another that the job lists), CLEAR6:grind=1 (another grind allowance), REED:sheets=REED-A+REED-B (only these whole
    /// sheets), came=8/1.2 (face and heart of the came), foil=0.4 (what foil takes on each side).
    #[arg(long = "try", value_name = "CHOICE")]
    pub(crate) tries: Vec<String>,

    /// The folder to write to; it is created if needed
    #[arg(long, value_name = "FOLDER")]
    pub(crate) out: PathBuf,

    /// Write over files there that this program did not write or that were changed since
    #[arg(long)]
    pub(crate) replace: bool,

    /// How long each run searches on its thread, in seconds [default: 5]
    #[arg(long, value_name = "N", conflicts_with = "rounds", allow_negative_numbers = true)]
    pub(crate) seconds: Option<f64>,

    /// How long each run searches, in rounds: what comes out then depends on the input and the seeds alone
    #[arg(long, value_name = "N")]
    pub(crate) rounds: Option<u64>,

    /// Seed of the first run of each choice; the others follow it [default: 1]
    #[arg(long, value_name = "N", default_value_t = 1, hide_default_value = true)]
    pub(crate) seed: u64,

    /// How often each choice is planned, every time with another seed [default: 3]
    #[arg(long, value_name = "N", default_value_t = cullet_planner::compare::SEEDS, hide_default_value = true,
          value_parser = clap::value_parser!(u32).range(1..=100))]
    pub(crate) seeds: u32,

    /// How many runs at a time, each on one thread [default: one for each core]
    #[arg(long, value_name = "N")]
    pub(crate) threads: Option<NonZeroUsize>,

    #[command(flatten)]
    pub(crate) tables: TableArguments,
}

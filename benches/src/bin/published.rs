//! Lays out published nesting instances, verifies the layouts and sets them beside the published results.

use anyhow::{Result, bail, ensure};
use clap::Parser;
use cullet_benches::published::figures::{Figures, Published};
use cullet_benches::published::growth::{self, Step};
use cullet_benches::published::run::{Settings, run};
use cullet_benches::published::schema::Instance;
use cullet_benches::published::table::{self, Row};
use cullet_benches::published::{find, picture, record};
use cullet_search::Limit;
use serde_json::{Value, json};
use std::io::{Write, stderr, stdout};
use std::path::PathBuf;
use std::process::ExitCode;

/// Lays out published nesting instances and sets the results beside the published ones.
///
/// Takes strip, bin and exact-fit instances from every .json, .jsonl and .jsonl.gz file named or found below a folder.
/// Published densities are read from strip_results.md there. Exit code 1 when nothing ran or a layout does not verify.
#[derive(Parser)]
struct Arguments {
    /// Folder or file with instances; may be given several times.
    #[arg(long, value_name = "PATH", required = true)]
    data: Vec<PathBuf>,
    /// Seconds a run.
    #[arg(long, value_name = "N", default_value_t = 60.0, conflicts_with = "rounds")]
    seconds: f64,
    /// Rounds a run instead of seconds: the result is then the same on every machine.
    #[arg(long, value_name = "N")]
    rounds: Option<u64>,
    /// Runs an instance, each with a seed of its own.
    #[arg(long, value_name = "K", default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..))]
    seeds: u64,
    /// Seed of the first run; the next run has the next number.
    #[arg(long, value_name = "SEED", default_value_t = 1, value_parser = clap::value_parser!(u64).range(..1 << 40))]
    first_seed: u64,
    /// Threads a run.
    #[arg(long, value_name = "T", default_value_t = 2, value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: u16,
    /// Just these: names of instances, of files or of folders.
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    only: Vec<String>,
    /// Allow every rotation.
    #[arg(long)]
    free: bool,
    /// Multiply every demand.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    times: u32,
    /// Run each instance with its demands times 1, 2, 4, 8, 16 and print how time and memory grow.
    #[arg(long, conflicts_with = "times")]
    growth: bool,
    /// Write the best layout of each instance as SVG to this folder.
    #[arg(long, value_name = "DIR")]
    pictures: Option<PathBuf>,
    /// Write all results and the best layouts to this file; anew after each instance.
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
}

impl Arguments {
    fn limit(&self) -> Limit {
        match self.rounds {
            Some(rounds) => Limit::Rounds(rounds),
            None => Limit::Seconds(self.seconds),
        }
    }
}

fn main() -> ExitCode {
    match measure(&Arguments::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            let _ = writeln!(stderr(), "{error:#}");
            ExitCode::FAILURE
        }
    }
}

fn measure(arguments: &Arguments) -> Result<()> {
    let limit = arguments.limit();
    ensure!(
        arguments.seconds > 0.0 && arguments.seconds.is_finite(),
        "--seconds must be above 0"
    );
    let settings = Settings {
        limit,
        threads: usize::from(arguments.threads),
    };
    let instances = find::instances(&arguments.data, &arguments.only)?;
    let published = Published::read(&arguments.data)?;
    let factors: &[u32] = if arguments.growth {
        &growth::FACTORS
    } else {
        &[arguments.times]
    };
    progress(&format!(
        "{} instances x {} runs x {}",
        instances.len(),
        arguments.seeds * factors.len() as u64,
        match limit {
            Limit::Seconds(seconds) => format!("{seconds} s"),
            Limit::Rounds(rounds) => format!("{rounds} rounds"),
        }
    ));

    let mut rows: Vec<Row> = Vec::new();
    let mut grown = String::new();
    for instance in &instances {
        let mut steps = Vec::new();
        for factor in factors {
            let row = row(instance, *factor, arguments, settings, &published)?;
            if let (Some(folder), Some(best)) = (&arguments.pictures, row.best()) {
                picture::write(folder, &row.instance, best)?;
            }
            if arguments.growth {
                steps.push(Step { factor: *factor, row });
            } else {
                rows.push(row);
            }
        }
        if arguments.growth {
            grown += &growth::text(&instance.name, &steps);
            rows.extend(steps.into_iter().map(|step| step.row));
        }
        if let Some(path) = &arguments.json {
            record::write(path, &rows, &written(arguments))?;
        }
    }
    let text = if arguments.growth {
        table::notes() + &grown
    } else {
        table::text(&rows)
    };
    stdout().write_all(text.as_bytes())?;

    ensure!(!rows.is_empty(), "nothing was run");
    let faulty: Vec<&str> = rows
        .iter()
        .filter(|row| row.faults() > 0)
        .map(|row| row.instance.name.as_str())
        .collect();
    if !faulty.is_empty() {
        bail!("layouts that do not verify: {}", faulty.join(", "));
    }
    Ok(())
}

fn row(
    instance: &Instance,
    factor: u32,
    arguments: &Arguments,
    settings: Settings,
    published: &Published,
) -> Result<Row> {
    // Figures hold for the instance as it was published; with more freedom they are still something to look at.
    let figures = if factor == 1 {
        published.of(instance)
    } else {
        Figures::default()
    };
    let mut instance = instance.clone().times(factor);
    if arguments.free {
        instance = instance.freed();
    }
    if factor > 1 {
        instance.name = format!("{}x{factor}", instance.name);
    }
    let mut runs = Vec::new();
    for seed in (arguments.first_seed..).take(arguments.seeds as usize) {
        let run = run(&instance, seed, settings)?;
        progress(&format!(
            "{} seed {seed}: {:.3} %, {}, first {:.2} s, best {:.1} s of {:.1} s{}",
            instance.name,
            run.density,
            if run.length.is_finite() {
                format!("length {:.4}", run.length / instance.scale())
            } else {
                format!("{} bins", run.bins)
            },
            run.first_s,
            run.best_s,
            run.took_s,
            run.judged_per_s.map_or_else(String::new, |judged| format!(
                ", {:.2} M places judged a second",
                judged / 1e6
            ))
        ));
        for fault in run.faults.iter().take(5) {
            progress(&format!("  does not verify: {fault}"));
        }
        runs.push(run);
    }
    Ok(Row {
        instance,
        runs,
        figures,
    })
}

/// The settings as they go into the record.
fn written(arguments: &Arguments) -> Value {
    json!({
        "seconds": arguments.rounds.is_none().then_some(arguments.seconds),
        "rounds": arguments.rounds,
        "seeds": arguments.seeds,
        "first_seed": arguments.first_seed,
        "threads": arguments.threads,
        "free": arguments.free,
        "times": arguments.times,
        "growth": arguments.growth,
    })
}

fn progress(line: &str) {
    let _ = writeln!(stderr(), "{line}");
}

//! The developers' command line.

use anyhow::Result;
use clap::{Parser, Subcommand};
use std::io::Write as _;
use std::path::PathBuf;

/// Commands for developers of Cullet.
#[derive(Parser)]
#[command(name = "cullet-tools", version)]
struct Tools {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Write the demo job and its stock list.
    Demo {
        /// The folder to write to.
        #[arg(long, value_name = "FOLDER", default_value = "fixtures/lighthouse")]
        out: PathBuf,
    },
    /// Write the schema of the job file.
    Schema {
        /// The file to write.
        #[arg(long, value_name = "FILE", default_value = "fixtures/job.schema.json")]
        out: PathBuf,
    },
    /// Write a large job and its stock list, for timing.
    Big {
        /// The folder to write to.
        out: PathBuf,
        /// How many pieces in all.
        #[arg(long, default_value_t = 2000)]
        pieces: u32,
        /// Of how many kinds.
        #[arg(long, default_value_t = 40)]
        kinds: u32,
    },
    /// Write a dozen windows of curved pieces, each with cartoon, job and stock list.
    Windows {
        /// The folder to write to.
        out: PathBuf,
        /// The same windows for the same seed.
        #[arg(long, default_value_t = 1)]
        seed: u64,
    },
    /// Write the gallery: six small windows, planned, with their maps.
    Gallery {
        /// The folder to write to.
        #[arg(long, value_name = "FOLDER", default_value = "fixtures/gallery")]
        out: PathBuf,
    },
    /// Draw the panels of a job as SVG, to judge the design by eye.
    Panels {
        /// The job file.
        job: PathBuf,
        /// The folder to write to.
        out: PathBuf,
    },
    /// Print how sharply the breaks of plans bend.
    Bends {
        /// Plan files, or folders with a plan.json in them or below.
        #[arg(required = true)]
        plans: Vec<PathBuf>,
        /// The stretch over which a bend is measured, mm.
        #[arg(long, default_value_t = 25.0)]
        stretch: f64,
    },
    /// Draw a sheet's score paths with their order.
    Way {
        /// The plan.
        plan: PathBuf,
        /// A shop file with a table.
        #[arg(long, value_name = "FILE", default_value = "fixtures/table/shop.json")]
        shop: PathBuf,
        /// The sheet map.
        #[arg(long, value_name = "N")]
        sheet: u32,
        /// The SVG file to write.
        #[arg(long, value_name = "FILE", default_value = "fixtures/pictures/way.svg")]
        out: PathBuf,
    },
    /// Plan five jobs with two builds of the program and compare the plans all but the digests of their files.
    Same {
        /// One build.
        one: PathBuf,
        /// The other.
        other: PathBuf,
    },
    /// Render an SVG file as a PNG picture.
    Picture {
        /// The SVG file.
        svg: PathBuf,
        /// The PNG file to write.
        png: PathBuf,
        /// Width in pixels; default the drawing's own size.
        #[arg(long, value_name = "PX")]
        width: Option<u32>,
    },
}

fn main() -> Result<()> {
    match Tools::parse().command {
        Command::Demo { out } => cullet_tools::demo::write(&out),
        Command::Schema { out } => cullet_tools::schema::write(&out),
        Command::Big { out, pieces, kinds } => cullet_tools::big::write(&out, pieces, kinds),
        Command::Windows { out, seed } => cullet_tools::windows::write(&out, seed).map(|_| ()),
        Command::Gallery { out } => cullet_tools::gallery::write(&out),
        Command::Panels { job, out } => cullet_tools::show::panels(&job, &out),
        Command::Bends { plans, stretch } => {
            let table = cullet_tools::bends::table(&plans, stretch)?;
            Ok(std::io::stdout().write_all(table.as_bytes())?)
        }
        Command::Way { plan, shop, sheet, out } => cullet_tools::way::draw(&plan, &shop, sheet, &out),
        Command::Same { one, other } => {
            let table = cullet_tools::same::table(&one, &other)?;
            Ok(std::io::stdout().write_all(table.as_bytes())?)
        }
        Command::Picture { svg, png, width } => cullet_tools::picture::render(&svg, &png, width),
    }
}

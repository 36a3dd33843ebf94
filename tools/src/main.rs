//! The developers' command line.

use anyhow::Result;
use clap::{Parser, Subcommand};
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
        Command::Picture { svg, png, width } => cullet_tools::picture::render(&svg, &png, width),
    }
}

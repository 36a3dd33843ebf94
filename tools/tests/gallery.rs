//! The gallery that is committed is the one that the command writes, and its windows can be planned.

use cullet_drawing::expand::expand;
use cullet_job::{Job, ReadWith};
use cullet_rack::Stock;
use std::error::Error;
use std::fs;
use std::path::Path;

type Checked = Result<(), Box<dyn Error>>;

/// What the windows are made from; their maps are a search's, and its measure is taken elsewhere.
#[test]
fn the_windows_are_those_that_are_committed() -> Checked {
    let gallery = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/gallery");
    let fresh = tempfile::tempdir()?;
    cullet_tools::gallery::write_windows(fresh.path())?;
    let mut windows = 0;
    for window in fs::read_dir(fresh.path())? {
        let window = window?;
        windows += 1;
        for file in fs::read_dir(window.path())? {
            let file = file?;
            let committed = gallery.join(window.file_name()).join(file.file_name());
            let committed =
                fs::read_to_string(&committed).map_err(|error| format!("{}: {error}", committed.display()))?;
            let same = fs::read_to_string(file.path())? == committed;
            assert!(
                same,
                "remake it: cargo run -p cullet-tools -- gallery ({:?})",
                file.path()
            );
        }
        let maps = fs::read_dir(gallery.join(window.file_name()))?.flatten();
        let maps = maps
            .filter(|file| file.file_name().to_string_lossy().starts_with("sheet-"))
            .count();
        assert!(maps > 0, "no maps of {:?}", window.file_name());
    }
    assert_eq!(windows, 6);
    Ok(())
}

/// Each reads without a finding, its drawing with at most a warning.
#[test]
fn the_windows_are_good() -> Checked {
    let gallery = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/gallery");
    for window in ["porch", "quarries", "fanlight", "harbour", "rosette", "transom"] {
        let folder = gallery.join(window);
        let name = if window == "transom" { "pieces.csv" } else { "job.json" };
        let text = fs::read_to_string(folder.join(name))?;
        let job = Job::read_as(name, &text, ReadWith::default(), |job, report| {
            expand(job, report, &|file| {
                (
                    file.to_owned(),
                    fs::read(folder.join(file)).map_err(|error| error.to_string()),
                )
            });
        })?;
        assert!(job.pieces.len() >= 5, "{window}");
        let stock = Stock::read_csv("stock.csv", &fs::read_to_string(folder.join("stock.csv"))?)?;
        assert!(stock.check_against("stock.csv", &job).is_empty(), "{window}");
    }
    Ok(())
}

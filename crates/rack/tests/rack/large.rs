//! A rack of 100,000 offcuts: how long it takes to open, to find glass and to take the stock for a plan.
//!
//! `cargo test --release -p cullet-rack --test rack -- --ignored --nocapture`

use crate::common::{Checked, stamp};
use cullet_rack::{Lines, Rack, Room, Wanted};
use std::fmt::Write as _;
use std::time::{Duration, Instant};

const OFFCUTS: u64 = 100_000;
/// Glasses of a large shop.
const GLASSES: u64 = 20;
/// What a search or a plan's start may take.
const ALLOWED: Duration = Duration::from_millis(100);

/// Two of three offcuts are irregular, of five corners; sizes from 150 mm to 1 m.
fn list() -> String {
    let mut text = String::from("kind,tag,glass,units,width,height,count,outline,place\n");
    let mut seed = 1_u64;
    let mut size = |least: u64, most: u64| {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        least + (seed >> 33) % (most - least)
    };
    for n in 0..OFFCUTS {
        let (width, height) = (size(150, 1000), size(150, 1000));
        let glass = n % GLASSES;
        let shape = if n % 3 == 0 {
            format!("{width},{height},1,")
        } else {
            let (x, y) = (size(50, width), size(50, height));
            format!(",,1,0 0; {width} 0; {width} {y}; {x} {height}; 0 {height}")
        };
        let _ = writeln!(text, "offcut,T{n},G{glass},mm,{shape},bay {}", n % 400);
    }
    text
}

/// The shortest of five: what it takes where nothing else runs.
fn shortest<T>(mut act: impl FnMut() -> T) -> (Duration, T) {
    let mut times = vec![];
    let mut last = None;
    for _ in 0..5 {
        let start = Instant::now();
        last = Some(act());
        times.push(start.elapsed());
    }
    times.sort();
    (times[0], last.expect("five times"))
}

#[test]
#[ignore = "a measurement, for a release build"]
#[allow(clippy::print_stdout, reason = "the figures are the point")]
fn a_hundred_thousand_offcuts() -> Checked {
    let home = tempfile::tempdir()?;
    let path = home.path().join("large.rack");
    let start = Instant::now();
    let lines = Lines::read_csv("large.csv", &list())?;
    Rack::open_or_create(&path)?.import(&lines, &stamp(0))?;
    println!(
        "import: {:.1} s, file {:.1} MB",
        start.elapsed().as_secs_f64(),
        std::fs::metadata(&path)?.len() as f64 / 1e6
    );

    let (time, rack) = shortest(|| Rack::open(&path));
    let mut rack = rack?;
    println!("open: {:.1} ms", time.as_secs_f64() * 1e3);
    assert!(time < ALLOWED);
    for (glass, width, height) in [
        (Some("G7"), 300.0, 200.0),
        (Some("G7"), 950.0, 900.0),
        (Some("G7"), 998.0, 60.0),
        (None, 300.0, 200.0),
        (None, 990.0, 980.0),
    ] {
        let room = Room {
            glass,
            width,
            height,
            most: 20,
        };
        let (time, found) = shortest(|| rack.find(&room));
        println!(
            "find {width} × {height} of {}: {:.1} ms, {} found",
            glass.unwrap_or("any"),
            time.as_secs_f64() * 1e3,
            found?.len()
        );
        assert!(time < ALLOWED);
    }
    for glasses in [1, 3, 20_u64] {
        let codes: Vec<String> = (0..glasses).map(|n| format!("G{n}")).collect();
        let wanted: Vec<Wanted<'_>> = codes
            .iter()
            .map(|glass| Wanted {
                glass,
                least_area: 3_000.0,
            })
            .collect();
        let (time, stock) = shortest(|| rack.stock(&wanted));
        println!(
            "stock of {glasses} glasses: {:.1} ms, {} sheets and offcuts",
            time.as_secs_f64() * 1e3,
            stock?.0.items.len()
        );
        assert!(glasses > 1 || time < ALLOWED);
    }
    let (time, glasses) = shortest(|| rack.glasses());
    println!("glasses: {:.1} ms, {}", time.as_secs_f64() * 1e3, glasses?.len());
    assert!(time < ALLOWED);
    Ok(())
}

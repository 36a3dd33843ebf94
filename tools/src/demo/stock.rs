//! The demo's stock list; tags, places, lots and prices invented.

use super::glasses::{CLEAR, CLEAR4, CLEAR5, DAWN, REED, SEA};
use std::fmt::Write as _;

const COLUMNS: &str = "kind,tag,glass,units,width,height,count,outline,grain,lot,place,flaws,price\n";

/// A line of equal sheets.
struct Sheets {
    tag: &'static str,
    glass: &'static str,
    size: [u32; 2],
    count: &'static str,
    lot: &'static str,
    place: &'static str,
    price: &'static str,
}

/// An offcut, seen from the show face, y up.
struct Offcut {
    tag: &'static str,
    glass: &'static str,
    outline: &'static str,
    grain: &'static str,
    lot: &'static str,
    place: &'static str,
    flaws: &'static str,
}

/// Art glass comes about 610 × 1220 mm (24 × 48 in), float 1220 × 1840 mm: sizes usual in the trade.
const SHEETS: [Sheets; 9] = [
    Sheets {
        tag: "SEA-A",
        glass: SEA,
        size: [610, 1220],
        count: "2",
        lot: "G-31",
        place: "bay 1",
        price: "",
    },
    Sheets {
        tag: "SEA-NEW",
        glass: SEA,
        size: [610, 1220],
        count: "buy",
        lot: "",
        place: "",
        price: "",
    },
    Sheets {
        tag: "DAWN-A",
        glass: DAWN,
        size: [610, 1220],
        count: "3",
        lot: "D-07",
        place: "bay 2",
        price: "",
    },
    Sheets {
        tag: "DAWN-NEW",
        glass: DAWN,
        size: [610, 1220],
        count: "buy",
        lot: "D-08",
        place: "",
        price: "88.50",
    },
    Sheets {
        tag: "REED-A",
        glass: REED,
        size: [610, 1220],
        count: "1",
        lot: "",
        place: "bay 3",
        price: "",
    },
    Sheets {
        tag: "REED-NEW",
        glass: REED,
        size: [1220, 1840],
        count: "buy",
        lot: "",
        place: "",
        price: "",
    },
    Sheets {
        tag: "CLEAR6-NEW",
        glass: CLEAR,
        size: [1220, 1840],
        count: "buy",
        lot: "",
        place: "",
        price: "",
    },
    Sheets {
        tag: "CLEAR5-NEW",
        glass: CLEAR5,
        size: [1220, 1840],
        count: "buy",
        lot: "",
        place: "",
        price: "",
    },
    Sheets {
        tag: "CLEAR4-NEW",
        glass: CLEAR4,
        size: [1220, 1840],
        count: "buy",
        lot: "",
        place: "",
        price: "",
    },
];

const OFFCUTS: [Offcut; 8] = [
    Offcut {
        tag: "R-101",
        glass: SEA,
        outline: "0 0; 410 0; 455 180; 390 370; 120 420; 0 300",
        grain: "",
        lot: "G-31",
        place: "rack A 3",
        flaws: "",
    },
    Offcut {
        tag: "R-102",
        glass: SEA,
        outline: "0 0; 610 0; 610 140; 330 165; 0 230",
        grain: "",
        lot: "G-29",
        place: "rack A 4",
        flaws: "",
    },
    Offcut {
        tag: "R-107",
        glass: DAWN,
        outline: "0 0; 500 0; 560 210; 430 330; 60 300; 0 190",
        grain: "90",
        lot: "D-07",
        place: "rack B 1",
        flaws: "410 150 18",
    },
    Offcut {
        tag: "R-109",
        glass: DAWN,
        outline: "0 0; 330 0; 380 240; 200 320; 0 260",
        grain: "0",
        lot: "D-05",
        place: "rack B 2",
        flaws: "",
    },
    Offcut {
        tag: "R-112",
        glass: REED,
        outline: "0 0; 300 0; 300 520; 190 610; 0 610",
        grain: "90",
        lot: "",
        place: "rack C 1",
        flaws: "",
    },
    Offcut {
        tag: "R-113",
        glass: REED,
        outline: "0 0; 640 0; 640 150; 520 240; 0 240",
        grain: "0",
        lot: "",
        place: "rack C 1",
        flaws: "80 40; 240 55; 238 62; 79 47|600 60 9",
    },
    // What an L-shaped cut left: bevelled pieces are small enough for it.
    Offcut {
        tag: "R-118",
        glass: CLEAR,
        outline: "0 0; 520 0; 520 260; 300 260; 300 470; 0 470",
        grain: "",
        lot: "",
        place: "rack D 2",
        flaws: "500 18 12",
    },
    Offcut {
        tag: "R-120",
        glass: CLEAR,
        outline: "0 0; 340 0; 340 210; 0 210",
        grain: "",
        lot: "",
        place: "rack D 2",
        flaws: "",
    },
];

pub(super) fn csv() -> String {
    let mut text = COLUMNS.to_owned();
    for s in &SHEETS {
        let [width, height] = s.size;
        // Writing to a String cannot fail.
        let _ = writeln!(
            text,
            "sheet,{},{},mm,{width},{height},{},,,{},{},,{}",
            s.tag, s.glass, s.count, s.lot, s.place, s.price
        );
    }
    for o in &OFFCUTS {
        let _ = writeln!(
            text,
            "offcut,{},{},mm,,,1,{},{},{},{},{},",
            o.tag, o.glass, o.outline, o.grain, o.lot, o.place, o.flaws
        );
    }
    text
}

//! A rack in a fresh folder, and plans for it that are laid by hand.

use cullet_geometry::{Point, run};
use cullet_rack::{Cut, CutSheet, Face, Lines, Rack, RackError, Stamp, StockItem, Wanted};
use std::path::PathBuf;
use tempfile::TempDir;

pub(crate) type Checked = Result<(), Box<dyn std::error::Error>>;

/// Two reeded sheets, one that can be bought, two offcuts, one of them with a flaw.
pub(crate) const LIST: &str = "\
kind,tag,glass,units,width,height,count,outline,grain,lot,place,flaws
sheet,REED-A,REED,mm,600,1200,2,,90,L1,bay 1,
sheet,REED-NEW,REED,mm,600,1200,buy,,,,,
offcut,17,REED,mm,,,1,0 0; 420 0; 420 260; 180 330; 0 330,0,L2,C4,
offcut,18,CLEAR,mm,500,400,1,,,,C5,300 200 20|100 100 5
";

pub(crate) struct Shop {
    pub(crate) home: TempDir,
    pub(crate) rack: Rack,
}

pub(crate) fn stamp(at: i64) -> Stamp {
    Stamp { at, who: "Ada".into() }
}

impl Shop {
    pub(crate) fn new() -> Result<Self, Box<dyn std::error::Error>> {
        let home = tempfile::tempdir()?;
        let mut rack = Rack::open_or_create(&home.path().join("shop.rack"))?;
        rack.import(&Lines::read_csv("stock.csv", LIST)?, &stamp(0))?;
        Ok(Self { home, rack })
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.home.path().join("shop.rack")
    }

    /// What a plan may pull of a glass.
    pub(crate) fn stock(&mut self, glass: &str) -> Result<Vec<StockItem>, RackError> {
        let wanted = [Wanted { glass, least_area: 1.0 }];
        Ok(self.rack.stock(&wanted)?.0.items)
    }

    /// A plan that halves each of these upright, uses a third of the left half and returns the right one.
    pub(crate) fn plan(&mut self, name: &str, tags: &[&str]) -> Result<Cut, Box<dyn std::error::Error>> {
        let made_on = self.rack.state()?;
        let mut sheets = vec![];
        for (i, tag) in tags.iter().enumerate() {
            let stock = self.rack.get(tag)?.stock;
            sheets.push(halved(i as u32 + 1, stock));
        }
        Ok(Cut {
            plan: name.into(),
            formerly: None,
            job: "Window".into(),
            made_on,
            sheets,
        })
    }
}

/// A sheet halved upright.
pub(crate) fn halved(number: u32, stock: StockItem) -> CutSheet {
    let bounds = stock.outline.bounds();
    let middle = Point {
        x: (bounds.min.x + bounds.max.x) / 2.0,
        y: 0.0,
    };
    let (left, right) = run::cut_by_line(&stock.outline, middle, 90.0);
    let left: f64 = left.iter().map(cullet_geometry::Outline::area).sum();
    CutSheet {
        number,
        used: left / 3.0,
        returned: right.into_iter().take(1).collect(),
        scored_face: Some(Face::Back),
        stock,
    }
}

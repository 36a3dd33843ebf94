//! What is written on the glass, and at what size.
//!
//! A label stands inside its piece where it can be read there. Where the piece is too small the label stands in the cullet
//! beside it, where there is room; or the piece carries a letter, and the list under the sheet says what the letter stands
//! for; where even a letter is too large a thin line leads to the margin. How small is too small grows with the map, and gives way when a sheet carries very many small pieces.

use super::block::{ArrowAt, Block, Row, Weight};
use super::grain::Arrow;
use super::leader;
use super::nearby::Taken;
use crate::drawing::View;
use crate::measure::short_size;
use crate::source::{Placed, offcut_name};
use crate::spot::{Spot, roomiest};
use crate::words::key;
use cullet_geometry::{Outline, Point, rectangle};
use cullet_job::Units;
use cullet_model::Layout;

/// Smallest size on the glass against the map's, before it gives way.
const SMALLEST: f64 = 0.72;

/// Where it stops giving way: 2 mm on A3.
const SMALLEST_OF_ALL: f64 = 0.34;

/// Smallest size outside the pieces.
const SMALLEST_OUTSIDE: f64 = 0.5;

/// With more labels than this outside their pieces smaller ones read better.
const MOST_OUTSIDE: usize = 40;

/// For no more labels than this a place in the cullet is looked for.
const MOST_NEARBY: usize = 200;

/// What is to be labelled.
pub(super) struct Item<'a> {
    shape: &'a Outline,
    obstacles: Vec<&'a Outline>,
    /// Ways to set it, the best first; the last is one row, for the margin.
    settings: Vec<Vec<Row>>,
    arrow: Option<Arrow>,
    /// Whether a letter may stand for it.
    keyed: bool,
    /// Largest size against the map's.
    largest: f64,
    /// Whether it stands on hatching.
    on_hatching: bool,
}

/// Where a label stands.
pub(super) enum Stand {
    /// In the shape.
    Inside { block: Block, spot: Spot, size: f64 },
    /// A letter in the shape, the words in the list.
    Letter {
        block: Block,
        spot: Spot,
        size: f64,
        letter: String,
        words: String,
    },
    /// In the cullet beside the shape, middle `at`, a short line leads there from `from`.
    Nearby {
        block: Block,
        from: Point,
        at: Point,
        size: f64,
    },
    /// In the margin, a line leads there from `spot`.
    Margin { block: Block, spot: Spot, size: f64 },
}

/// How an item could be set, worked out once.
struct Choice {
    direct: (Block, Spot),
    letter: Option<(usize, Spot)>,
}

impl<'a> Item<'a> {
    /// A piece: its number, then the panel and what is special.
    pub(super) fn piece(placed: &'a Placed<'_>, arrow: Option<Arrow>) -> Self {
        let id = &placed.placement.id;
        let number = Row::new(&id.number, 1.0, Weight::Bold);
        let mut panel = id.panel.clone();
        if id.mirrored {
            panel.push_str(" m");
        }
        let mut marks = Vec::new();
        if placed.placement.spare {
            marks.push("spare");
        }
        if placed.placement.pose.turned_over {
            marks.push("face down");
        }
        let marks = marks.join(" ");
        let small = |words: &str| Row::new(words, 0.68, Weight::Plain);
        let all = format!("{panel} {marks}");
        let in_line = Row::new(format!("{id} {marks}").trim(), 1.0, Weight::Bold);
        let mut settings = vec![vec![number.clone(), small(&all)]];
        if !marks.is_empty() {
            settings.insert(0, vec![number, small(&panel), small(&marks)]);
        }
        settings.push(vec![in_line]);
        Self {
            shape: &placed.cut,
            obstacles: Vec::new(),
            settings,
            arrow,
            keyed: true,
            largest: 1.5,
            on_hatching: false,
        }
    }

    /// The `n`-th offcut that goes back: `keep`, its tag to be, its largest rectangle rounded down.
    pub(super) fn returned(layout: &'a Layout, n: usize, outline: &'a Outline, units: Units) -> Self {
        let tag = offcut_name(layout, n);
        let keep = Row::new("keep", 1.0, Weight::Bold);
        let size = rectangle::largest_upright(outline).map_or_else(String::new, |r| {
            let one = match units {
                Units::Millimetres => 1.0,
                Units::Inches => 25.4 / 16.0,
            };
            let down = |length: f64| (length / one + 1e-6).floor() * one;
            short_size(down(r.width()), down(r.height()), 0, units)
        });
        let plain = |words: &str| Row::new(words, 0.8, Weight::Plain);
        let in_line = Row::new(&format!("keep {tag}, {size}"), 1.0, Weight::Bold);
        Self {
            shape: outline,
            obstacles: layout.stock.flaws.iter().collect(),
            settings: vec![vec![keep, plain(&tag), plain(&size)], vec![in_line]],
            arrow: None,
            keyed: false,
            largest: 1.8,
            on_hatching: false,
        }
    }

    /// A flaw.
    pub(super) fn flaw(outline: &'a Outline) -> Self {
        Self {
            shape: outline,
            obstacles: Vec::new(),
            settings: vec![vec![Row::new("flaw", 1.0, Weight::Bold)]],
            arrow: None,
            keyed: false,
            largest: 1.1,
            on_hatching: true,
        }
    }

    fn words(&self) -> String {
        let last = self.settings.last().into_iter().flatten();
        last.map(|r| r.words.as_str()).collect::<Vec<_>>().join(" ")
    }

    fn choice(&self, map_size: f64) -> Option<Choice> {
        let direct = self.roomiest_setting(map_size)?;
        let letter = if self.keyed && direct.1.scale < map_size * SMALLEST {
            self.roomiest_letter(map_size)
        } else {
            None
        };
        Some(Choice { direct, letter })
    }

    /// The shape it belongs to.
    pub(super) fn shape(&self) -> &'a Outline {
        self.shape
    }

    /// Every way to set rows with the arrow, each with how well it reads against the others.
    fn blocks(&self, rows: &[Row], turned: bool) -> Vec<(Block, f64)> {
        let Some(arrow) = self.arrow else {
            let block = Block::new(rows.to_vec(), turned, None);
            return vec![(if self.on_hatching { block.on_hatching() } else { block }, 1.0)];
        };
        let [first, second] = ArrowAt::both(arrow);
        [
            (arrow, first, 1.0),
            (arrow, second, 0.97),
            (arrow.short(), first, 0.9),
            (arrow.short(), second, 0.87),
        ]
        .map(|(arrow, at, favour)| (Block::new(rows.to_vec(), turned, Some((arrow, at))), favour))
        .to_vec()
    }

    /// The setting that reads best: size counts up to the map's own and little beyond, the first setting wins over the
    /// later, and words are turned only where upright ones would be small.
    fn roomiest_setting(&self, map_size: f64) -> Option<(Block, Spot)> {
        let largest = map_size * self.largest;
        let mut best: Option<(Block, Spot, f64)> = None;
        for (turned, turned_favour) in [(false, 1.0), (true, 0.75)] {
            if turned && best.as_ref().is_some_and(|b| b.1.scale >= 0.8 * map_size) {
                break;
            }
            let mut setting_favour = turned_favour;
            for rows in &self.settings {
                for (block, arrow_favour) in self.blocks(rows, turned) {
                    let Some(spot) = roomiest(self.shape, &self.obstacles, block.width, block.height, largest) else {
                        continue;
                    };
                    let beyond = 0.2 * (spot.scale.min(largest) - map_size).max(0.0);
                    let merit = (spot.scale.min(map_size) + beyond) * setting_favour * arrow_favour;
                    if best.as_ref().is_none_or(|b| merit > b.2) {
                        best = Some((block, spot, merit));
                    }
                    if spot.scale >= largest {
                        return best.map(|(block, spot, _)| (block, spot));
                    }
                }
                setting_favour *= 0.93;
            }
        }
        best.map(|(block, spot, _)| (block, spot))
    }

    /// Where a letter finds the most room, and how it is set against the arrow.
    fn roomiest_letter(&self, map_size: f64) -> Option<(usize, Spot)> {
        let blocks = self.blocks(&letter_row("aa"), false);
        let spots = blocks.iter().enumerate().filter_map(|(setting, (block, _))| {
            roomiest(self.shape, &self.obstacles, block.width, block.height, map_size).map(|spot| (setting, spot))
        });
        spots.max_by(|a, b| a.1.scale.total_cmp(&b.1.scale))
    }

    fn in_margin(&self) -> Block {
        let rows = self.settings.last().cloned().unwrap_or_default();
        Block::new(rows, false, self.arrow.map(|a| (a.short(), ArrowAt::Left)))
    }
}

fn letter_row(letter: &str) -> Vec<Row> {
    vec![Row::new(letter, 1.0, Weight::Plain)]
}

/// Where every label stands, in the items' order; `map_size` is the map's own letter size in mm. The smallest size is the
/// largest that leaves no line through a label or another line. On a map too crowded for that no lines go to the margin,
/// and what finds no room anywhere is set as small as its piece asks, to be read by zooming in.
pub(super) fn stands(items: &[Item<'_>], map_size: f64, view: &View, sheet: &Outline) -> Vec<Stand> {
    let choices: Vec<Option<Choice>> = items.iter().map(|i| i.choice(map_size)).collect();
    let mut smallest = map_size * SMALLEST;
    while smallest > map_size * SMALLEST_OF_ALL {
        let too_small = choices.iter().flatten().filter(|c| c.direct.1.scale < smallest).count();
        if too_small <= MOST_OUTSIDE {
            let stands = Setter::new(items, map_size, smallest, sheet, Margin::Used).set(items, &choices);
            if leader::faults(&leader::place(&stands, view, size_of(sheet)), &stands, view) == 0 {
                return stands;
            }
        }
        smallest *= 0.88;
    }
    Setter::new(items, map_size, map_size * SMALLEST_OF_ALL, sheet, Margin::Empty).set(items, &choices)
}

/// Whether labels may stand in the margin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Margin {
    Used,
    Empty,
}

/// Finds every label its place when none on the glass is to be smaller than a given size.
struct Setter<'a> {
    map_size: f64,
    smallest: f64,
    margin: Margin,
    taken: Taken<'a>,
    letters: usize,
    nearby: usize,
}

impl<'a> Setter<'a> {
    fn new(items: &[Item<'a>], map_size: f64, smallest: f64, sheet: &'a Outline, margin: Margin) -> Self {
        Self {
            map_size,
            smallest,
            margin,
            taken: Taken::new(sheet, items),
            letters: 0,
            nearby: 0,
        }
    }

    fn set(mut self, items: &[Item<'_>], choices: &[Option<Choice>]) -> Vec<Stand> {
        let pairs = items.iter().zip(choices);
        pairs
            .filter_map(|(item, choice)| choice.as_ref().map(|c| self.stand(item, c)))
            .collect()
    }

    fn stand(&mut self, item: &Item<'_>, choice: &Choice) -> Stand {
        let (block, spot) = &choice.direct;
        let inside = || Stand::Inside {
            block: block.clone(),
            spot: *spot,
            size: spot.scale.min(self.map_size * item.largest),
        };
        if spot.scale >= self.smallest {
            return inside();
        }
        let outside = item.in_margin();
        let size = self.smallest.max(self.map_size * SMALLEST_OUTSIDE);
        if self.nearby < MOST_NEARBY {
            let (width, height) = (outside.width * size, outside.height * size);
            if let Some(at) = self.taken.take(item.shape, spot.centre, width, height) {
                self.nearby += 1;
                let (block, from) = (outside.on_hatching(), spot.centre);
                return Stand::Nearby { block, from, at, size };
            }
        }
        if let Some((setting, spot)) = choice.letter.filter(|l| l.1.scale >= self.smallest) {
            let letter = key(self.letters);
            self.letters += 1;
            return Stand::Letter {
                block: item.blocks(&letter_row(&letter), false).swap_remove(setting).0,
                spot,
                size: spot.scale.min(self.map_size * 0.9),
                letter,
                words: item.words(),
            };
        }
        match self.margin {
            Margin::Used => Stand::Margin {
                block: outside,
                spot: *spot,
                size,
            },
            Margin::Empty => inside(),
        }
    }
}

/// Width and height of a sheet's box.
pub(super) fn size_of(sheet: &Outline) -> (f64, f64) {
    let bounds = sheet.bounds();
    (bounds.width(), bounds.height())
}

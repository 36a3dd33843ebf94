//! What is written on the glass, and at what size.
//!
//! A label stands inside its piece where it can be read there. Where the piece is too small it carries a letter, and the
//! list under the sheet says what the letter stands for; where even a letter is too large a thin line leads to the
//! margin. How small is too small grows with the map, and gives way when a sheet carries very many small pieces.

use super::block::{Block, Row, Weight};
use super::grain::Arrow;
use super::spot::{Spot, roomiest};
use crate::source::{Placed, returned_tag};
use crate::words::key;
use cullet_geometry::{Outline, rectangle};
use cullet_plan::model::Layout;

/// Smallest size against the map's, before it gives way.
const SMALLEST: f64 = 0.72;

/// Where it stops giving way: beyond this a map is read by zooming in.
const SMALLEST_OF_ALL: f64 = 0.1;

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
    Letter { block: Block, spot: Spot, size: f64, letter: String, words: String },
    /// In the margin, a line leads there from `spot`.
    Margin { block: Block, spot: Spot, size: f64 },
}

/// How an item could be set, worked out once.
struct Choice {
    direct: (Block, Spot),
    letter: Option<(Block, Spot)>,
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
            marks.push("over");
        }
        let marks = marks.join(" ");
        let small = |words: &str| Row::new(words, 0.68, Weight::Plain);
        let all = format!("{panel} {marks}");
        let in_line = Row::new(&format!("{} {}", id.number, all.trim()), 1.0, Weight::Bold);
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
    pub(super) fn returned(layout: &'a Layout, n: usize, outline: &'a Outline) -> Self {
        let tag = returned_tag(layout, n);
        let keep = Row::new("keep", 1.0, Weight::Bold);
        let size = rectangle::largest_upright(outline).map_or_else(String::new, |r| {
            let down = |length: f64| (length + 1e-6).floor();
            format!("{} × {} mm", down(r.width()), down(r.height()))
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
        let direct = self.roomiest_setting(map_size * self.largest)?;
        let letter = if self.keyed && direct.1.scale < map_size * SMALLEST {
            self.set_letter("aa", map_size)
        } else {
            None
        };
        Some(Choice { direct, letter })
    }

    /// The first setting that reaches the largest size, or else the roomiest; upright ones win over turned ones that are
    /// hardly larger.
    fn roomiest_setting(&self, largest: f64) -> Option<(Block, Spot)> {
        let mut best: Option<(Block, Spot, f64)> = None;
        for turned in [false, true] {
            for (rank, rows) in self.settings.iter().enumerate() {
                let mut block = Block::new(rows.clone(), turned, self.arrow);
                if self.on_hatching {
                    block = block.on_hatching();
                }
                let Some(spot) = roomiest(self.shape, &self.obstacles, block.width, block.height, largest) else {
                    continue;
                };
                if spot.scale >= largest {
                    return Some((block, spot));
                }
                let merit = spot.scale * if turned { 0.75 } else { 1.0 } * 0.95_f64.powi(i32::try_from(rank).unwrap_or(9));
                if best.as_ref().is_none_or(|b| merit > b.2) {
                    best = Some((block, spot, merit));
                }
            }
        }
        best.map(|(block, spot, _)| (block, spot))
    }

    fn set_letter(&self, letter: &str, map_size: f64) -> Option<(Block, Spot)> {
        let block = Block::new(vec![Row::new(letter, 1.0, Weight::Plain)], false, self.arrow);
        let spot = roomiest(self.shape, &self.obstacles, block.width, block.height, map_size)?;
        Some((block, spot))
    }

    fn in_margin(&self) -> Block {
        Block::new(self.settings.last().cloned().unwrap_or_default(), false, self.arrow)
    }
}

/// Where every label stands, in the items' order; `map_size` is the map's own letter size in mm and `room_in_margin` says
/// how many labels of a given size and height (at size 1) the margins hold.
pub(super) fn stands(items: &[Item<'_>], map_size: f64, room_in_margin: impl Fn(f64, f64) -> usize) -> Vec<Stand> {
    let choices: Vec<Option<Choice>> = items.iter().map(|i| i.choice(map_size)).collect();
    let smallest = smallest_size(items, &choices, map_size, room_in_margin);
    let margins_hold = smallest > map_size * SMALLEST_OF_ALL;
    let mut letters = 0;
    let mut stands = Vec::new();
    for (item, choice) in items.iter().zip(choices) {
        let Some(Choice { direct, letter }) = choice else { continue };
        let (block, spot) = direct;
        let (largest, scale) = (map_size * item.largest, spot.scale);
        if scale >= smallest || !margins_hold {
            stands.push(Stand::Inside { block, spot, size: scale.min(largest) });
        } else if let Some((_, spot)) = letter.filter(|l| l.1.scale >= smallest) {
            let letter = key(letters);
            letters += 1;
            let block = Block::new(vec![Row::new(&letter, 1.0, Weight::Plain)], false, item.arrow);
            let size = spot.scale.min(map_size * 0.9);
            stands.push(Stand::Letter { block, spot, size, letter, words: item.words() });
        } else {
            stands.push(Stand::Margin { block: item.in_margin(), spot, size: smallest });
        }
    }
    stands
}

/// The smallest size that leaves no more labels for the margins than they hold.
fn smallest_size(
    items: &[Item<'_>],
    choices: &[Option<Choice>],
    map_size: f64,
    room_in_margin: impl Fn(f64, f64) -> usize,
) -> f64 {
    let tallest = items.iter().map(|i| i.in_margin().height).fold(0.0, f64::max);
    let mut size = map_size * SMALLEST;
    while size > map_size * SMALLEST_OF_ALL {
        let reaches = |c: &Choice| c.direct.1.scale >= size || c.letter.as_ref().is_some_and(|l| l.1.scale >= size);
        let in_margin = choices.iter().flatten().filter(|c| !reaches(c)).count();
        if in_margin <= room_in_margin(size, tallest) {
            return size;
        }
        size *= 0.85;
    }
    map_size * SMALLEST_OF_ALL
}

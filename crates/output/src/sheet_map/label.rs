//! What is written on the glass, and at what size.
//!
//! A label stands inside its piece where it can be read there. Where the piece is too small the label stands in the cullet
//! beside it, where there is room; or the piece carries a letter, and the list under the sheet says what the letter stands
//! for; where even a letter is too large a thin line leads to the margin. How small is too small grows with the map, and gives way when a sheet carries very many small pieces.

use super::block::{ArrowAt, Block, Row, Weight};
use super::grain::Arrow;
use super::leader;
use super::nearby::Taken;
use super::spot::{Spot, roomiest};
use crate::drawing::View;
use crate::source::{Placed, returned_tag};
use crate::words::key;
use cullet_geometry::{Outline, Point, rectangle};
use cullet_plan::model::Layout;

/// Smallest size against the map's, before it gives way.
const SMALLEST: f64 = 0.72;

/// More labels than this outside their pieces make a map hard to read.
const MOST_OUTSIDE: usize = 40;

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

/// Where every label stands, in the items' order, and the lines to those in the margin; `map_size` is the map's own letter
/// size in mm. The smallest size is the largest that leaves no line through a label or another line.
pub(super) fn stands(items: &[Item<'_>], map_size: f64, view: &View, sheet: &Outline) -> Vec<Stand> {
    let choices: Vec<Option<Choice>> = items.iter().map(|i| i.choice(map_size)).collect();
    let mut smallest = map_size * SMALLEST;
    while smallest > map_size * SMALLEST_OF_ALL {
        let reaches =
            |c: &Choice| c.direct.1.scale >= smallest || c.letter.as_ref().is_some_and(|l| l.1.scale >= smallest);
        let outside = choices.iter().flatten().filter(|c| !reaches(c)).count();
        if outside <= MOST_OUTSIDE {
            let stands = stands_at(items, &choices, map_size, smallest, sheet);
            if leader::faults(&leader::place(&stands, view, size_of(sheet)), &stands, view) == 0 {
                return stands;
            }
        }
        smallest *= 0.88;
    }
    stands_at(items, &choices, map_size, 0.0, sheet)
}

/// Where every label stands when none on the glass is to be smaller than `smallest`.
fn stands_at(
    items: &[Item<'_>],
    choices: &[Option<Choice>],
    map_size: f64,
    smallest: f64,
    sheet: &Outline,
) -> Vec<Stand> {
    let mut taken = Taken::new(sheet, items);
    let (mut letters, mut nearby_labels) = (0, 0);
    let mut stands = Vec::new();
    for (item, choice) in items.iter().zip(choices) {
        let Some(Choice {
            direct: (block, spot),
            letter,
        }) = choice
        else {
            continue;
        };
        if spot.scale >= smallest {
            let size = spot.scale.min(map_size * item.largest);
            stands.push(Stand::Inside {
                block: block.clone(),
                spot: *spot,
                size,
            });
            continue;
        }
        let (outside, outside_size, from) = (item.in_margin(), map_size * SMALLEST, spot.centre);
        let (width, height) = (outside.width * outside_size, outside.height * outside_size);
        let nearby = if nearby_labels < MOST_OUTSIDE {
            taken.take(item.shape, from, width, height)
        } else {
            None
        };
        if let Some(at) = nearby {
            nearby_labels += 1;
            stands.push(Stand::Nearby {
                block: outside.on_hatching(),
                from,
                at,
                size: outside_size,
            });
        } else if let Some((setting, spot)) = letter.filter(|l| l.1.scale >= smallest) {
            let letter = key(letters);
            letters += 1;
            let block = item.blocks(&letter_row(&letter), false).swap_remove(setting).0;
            let size = spot.scale.min(map_size * 0.9);
            stands.push(Stand::Letter {
                block,
                spot,
                size,
                letter,
                words: item.words(),
            });
        } else {
            stands.push(Stand::Margin {
                block: outside,
                spot: *spot,
                size: outside_size,
            });
        }
    }
    stands
}

/// Width and height of a sheet's box.
pub(super) fn size_of(sheet: &Outline) -> (f64, f64) {
    let bounds = sheet.bounds();
    (bounds.width(), bounds.height())
}

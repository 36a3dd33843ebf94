//! Which pieces can be scored at all, and how each laid sheet comes apart.
//!
//! What is done with a sheet for which no breaking order is found is in `repair`.

use super::glass::GlassPlanner;
use super::scored::{rule_for, scored};
use crate::leftover;
use cullet_breakout::{Breaking, Rule, Style, Unfreed, free, order};
use cullet_geometry::{Outline, Point, offset};
use cullet_job::{Units, measure};
use cullet_model::{Layout, Placement};
use cullet_search::Placed;
use cullet_verify as verify;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Why a piece that fits is left out.
pub(super) const HELD: &str = "no breaking order frees it from its neighbours on the sheets at hand; plan again with more \
     time, or allow more room between pieces (narrowest_strip)";
/// Glass round a piece in the blank it is tried in, mm, where the narrowest strip is less.
const LEAST_ROOM: f64 = 6.0;

impl GlassPlanner<'_> {
    /// The workshop's rule for this glass.
    pub(super) fn rule(&self) -> Rule {
        Rule {
            narrowest_strip: self.glass.narrowest_strip,
            sharpest_turn_deg: self.job.sharpest_turn_deg,
            bend_length: self.job.bend_length,
            tightest_curve: self.job.tightest_curve,
            pull_margin_deg: self.job.pull_margin_deg,
            ground_off: self.glass.ground_off(),
        }
    }

    /// Pieces that no score can make, each with why and what the workshop can do.
    pub(super) fn unbreakable(&self) -> BTreeMap<usize, String> {
        let rule = self.rule();
        let judged = self.pieces.par_iter().enumerate();
        judged
            .filter_map(|(i, piece)| Some((i, why_unbreakable(&piece.cut, &rule, self.job.source.units)?)))
            .collect()
    }

    /// Every sheet's order, or which of the placed pieces hold each other: their positions in `placed`. What `known` has is not
    /// worked out again.
    pub(super) fn ordered(&self, placed: &[Placed], known: &mut Known) -> Result<Vec<Layout>, Vec<usize>> {
        let layouts = self.layouts(placed);
        let mut containers: Vec<usize> = placed.iter().map(|p| p.container).collect();
        containers.sort_unstable();
        containers.dedup();
        let sheets: Vec<Vec<usize>> = containers
            .iter()
            .map(|c| (0..placed.len()).filter(|i| placed[*i].container == *c).collect())
            .collect();
        let on_sheet = |sheet: &[usize]| -> Vec<Placed> { sheet.iter().map(|i| placed[*i]).collect() };
        let tried: Vec<Ordered> = layouts
            .par_iter()
            .zip(&sheets)
            .map(|(layout, sheet)| known.find(&on_sheet(sheet)).unwrap_or_else(|| self.apart(layout)))
            .collect();
        for (sheet, ordered) in sheets.iter().zip(&tried) {
            known.note(on_sheet(sheet), ordered);
        }
        let mut held = vec![];
        let mut done = vec![];
        for ((mut layout, sheet), ordered) in layouts.into_iter().zip(&sheets).zip(tried) {
            match ordered {
                Ok(breaking) => {
                    layout.breaking = breaking;
                    done.push(layout);
                }
                Err(blocking) => held.extend(blocking.into_iter().map(|i| sheet[i])),
            }
        }
        if held.is_empty() { Ok(done) } else { Err(held) }
    }

    /// How one sheet comes apart, or which of its placements hold each other.
    fn apart(&self, layout: &Layout) -> Ordered {
        let breaking = self.order(layout).map_err(|unfreed| unfreed.pieces)?;
        let layout = Layout {
            breaking,
            ..layout.clone()
        };
        match verify::held(&layout, self.job) {
            held if held.is_empty() => Ok(layout.breaking),
            held => Err(held),
        }
    }

    pub(super) fn order(&self, layout: &Layout) -> Result<Breaking, Unfreed> {
        let cut: Vec<Outline> = layout
            .placements
            .iter()
            .filter_map(|placement| {
                let piece = self.pieces.iter().find(|p| p.id == placement.id)?;
                Some(piece.cut.posed(&placement.pose))
            })
            .collect();
        let (sheet, kerf) = (&layout.stock.outline, self.job.score_kerf);
        let rule = rule_for(&cut, kerf, &self.rule());
        let scores = scored(cut, sheet, kerf, self.glass.ground_off());
        order(sheet, layout.edge_trim, &scores, &layout.returned, &rule)
    }

    /// Straight-run layouts with their breaking orders: the runs down to the blanks, then each piece out of its blank. A piece
    /// that no run frees is left out and counted.
    pub(super) fn in_runs(&self, placed: &[Placed]) -> (Vec<Layout>, Vec<u32>) {
        let mut held = vec![0u32; self.pieces.len()];
        let mut found = Vec::new();
        for mut layout in self.layouts(placed) {
            while !layout.placements.is_empty() {
                let Err(blocking) = self.run_down(&mut layout) else {
                    break;
                };
                let smallest = blocking.into_iter().min_by(|a, b| {
                    let area = |i: &usize| {
                        self.piece_of(&layout.placements[*i])
                            .map_or(0.0, |p| self.pieces[p].cut.area())
                    };
                    area(a).total_cmp(&area(b))
                });
                let gone = layout.placements.remove(smallest.unwrap_or(0));
                if let Some(piece) = self.piece_of(&gone) {
                    held[piece] += 1;
                }
            }
            if !layout.placements.is_empty() {
                found.push(layout);
            }
        }
        (found, held)
    }

    /// Enters how a straight-run layout comes apart and what goes back; else which placements hold it up.
    pub(super) fn run_down(&self, layout: &mut Layout) -> Result<(), Vec<usize>> {
        let rule = self.rule();
        let poses = layout.placements.iter();
        let pieces: Vec<(Outline, Outline)> = poses
            .filter_map(|p| {
                let cut = &self.pieces[self.piece_of(p)?].cut;
                Some((
                    cullet_guillotine::blank_for(cut, &rule).posed(&p.pose),
                    cut.posed(&p.pose),
                ))
            })
            .collect();
        let whole = &layout.stock.outline;
        let usable = offset::shrink(whole, layout.edge_trim);
        let usable = usable.into_iter().max_by(|a, b| a.area().total_cmp(&b.area()));
        let usable = usable.unwrap_or_else(|| whole.clone());
        let blanks: Vec<Outline> = pieces.iter().map(|p| p.0.clone()).collect();
        let sheet = cullet_guillotine::Sheet {
            whole,
            usable: &usable,
            kerf: self.job.score_kerf,
        };
        let keep = |outline: &Outline| leftover::keeps(outline, &layout.stock.flaws, self.job.keep);
        let runs = cullet_guillotine::runs(&blanks, sheet, rule, &keep).map_err(|stuck| stuck.blanks)?;
        let cut: Vec<Outline> = pieces.iter().map(|p| p.1.clone()).collect();
        let breaking = cullet_guillotine::with_pieces(&runs, &cut, self.job.score_kerf, &rule)
            .map_err(|held| held.pieces.into_iter().map(|(piece, _)| piece).collect::<Vec<_>>())?;
        layout.breaking = breaking;
        layout.returned = runs.offcuts;
        layout.style = Style::StraightRun;
        layout.clearance = self.job.score_kerf;
        match verify::held(layout, self.job) {
            held if held.is_empty() => Ok(()),
            held => Err(held),
        }
    }

    pub(super) fn piece_of(&self, placement: &Placement) -> Option<usize> {
        self.pieces.iter().position(|p| p.id == placement.id)
    }
}

/// How a sheet comes apart, or which of its placements hold each other.
type Ordered = Result<Breaking, Vec<usize>>;

/// What was found for sheets that have been looked at: laying others differently leaves them as they are.
#[derive(Default)]
pub(super) struct Known(Vec<(Vec<Placed>, Ordered)>);

impl Known {
    fn find(&self, sheet: &[Placed]) -> Option<Ordered> {
        self.0.iter().find(|(known, _)| known == sheet).map(|(_, o)| o.clone())
    }

    fn note(&mut self, sheet: Vec<Placed>, ordered: &Ordered) {
        if self.find(&sheet).is_none() {
            self.0.push((sheet, ordered.clone()));
        }
    }
}

/// Why no score can make a piece, in the panel's frame.
fn why_unbreakable(cut: &Outline, rule: &Rule, units: Units) -> Option<String> {
    if !rule.is_wide(cut.points()) {
        return Some(format!(
            "no score can make it: it is narrower than the narrowest strip of {}; make it wider, or divide it with a lead line",
            measure::length(rule.narrowest_strip, units)
        ));
    }
    let blank = offset::grow(&cut.convex_hull(), rule.narrowest_strip.max(LEAST_ROOM));
    let held = free(&blank, cut, rule).err()?.at;
    let (at, turn) = sharpest_inside(cut);
    Some(if turn > rule.sharpest_turn_deg {
        format!(
            "no score can make it: its inside corner at ({:.1}, {:.1}) turns by {turn:.0}°; a break can follow at most {:.0}°; \
             split it there with a lead line, saw it, or draw a curve",
            at.x, at.y, rule.sharpest_turn_deg
        )
    } else {
        format!(
            "no score can make it: no break opens its edge at ({:.1}, {:.1}), where it curves in too deeply or more tightly than \
             {} in radius; flatten the curve, split it there with a lead line, or saw it",
            held.x,
            held.y,
            measure::length(rule.tightest_curve, units)
        )
    })
}

/// The corner that turns inwards most, and by how much, degrees.
fn sharpest_inside(outline: &Outline) -> (Point, f64) {
    let points = outline.points();
    let n = points.len();
    (0..n)
        .map(|i| {
            let (into, out) = (points[i] - points[(i + n - 1) % n], points[(i + 1) % n] - points[i]);
            let turn = (into.x * out.y - into.y * out.x).atan2(into.x * out.x + into.y * out.y);
            (points[i], -turn.to_degrees())
        })
        .fold(
            (points[0], 0.0),
            |most, corner| if corner.1 > most.1 { corner } else { most },
        )
}

#[cfg(test)]
mod tests {
    use super::super::effort::Budget;
    use super::super::pull::LayoutMethod;
    use super::super::repair::Opening;
    use super::*;
    use cullet_geometry::Pose;
    use cullet_model::figures::Accounts;
    use cullet_search::{Effort, Limit};
    use cullet_testkit::plan as sample;

    /// A third of a hexagon, with a bay in one side and a knob on the other that fits the next one's bay.
    fn third() -> Outline {
        let side = |k: usize| {
            let t = 7.0 * k as f64;
            let bulge = ((t - 52.5) / 175.0).clamp(0.0, 1.0);
            (t, 114.0 * (bulge * std::f64::consts::PI).sin().powi(2))
        };
        let (sin, cos) = 120_f64.to_radians().sin_cos();
        let lower = (0..=40).map(side).map(|(x, y)| [x, y]);
        let upper = (1..=40)
            .rev()
            .map(side)
            .map(|(x, y)| [x * cos - y * sin, x * sin + y * cos]);
        let points: Vec<[f64; 2]> = lower.chain([[140.0, 242.5]]).chain(upper).collect();
        offset::shrink(&sample::outline(&points), 4.1).remove(0)
    }

    /// Three pieces round a point, each with its knob in the next one's bay: no break that parts one from the others pulls
    /// straight. Laid again they come apart; drawn together too they leave more than the 404,000 mm² that filling leaves.
    #[test]
    fn what_is_laid_again_is_drawn_together_too() {
        let mut job = sample::job();
        job.pieces.truncate(3);
        job.pieces.drain(..2);
        job.pieces[0].quantity = 3;
        job.pieces[0].cut = third();
        job.pieces[0].finished = third();
        let mut stock = sample::stock();
        stock.items.truncate(1);
        stock.items[0].flaws.clear();
        let accounts = Accounts::new(&job);
        let work = GlassPlanner::new(&job, 0, &stock, &accounts);
        assert!(work.unbreakable().is_empty());
        let problem = work.problem();
        let at = |x: f64, y: f64, rotation_deg: f64| Placed {
            item: 0,
            container: 0,
            pose: Pose {
                rotation_deg,
                turned_over: false,
                x,
                y,
            },
        };
        let bounds = problem.containers[0].outline.bounds();
        let (x, y) = (bounds.min.x + 380.0, bounds.min.y + 380.0);
        let round = [0.0, 120.0, 240.0].map(|turn| at(x, y, turn));
        assert!(work.ordered(&round, &mut Known::default()).is_err());
        let effort = Effort {
            seed: 1,
            limit: Limit::Rounds(40),
            lanes: 1,
        };
        let cancel = false.into();
        let opening = Opening {
            work: &work,
            pairs: None,
            effort,
            method: &LayoutMethod {
                budget: &Budget::new(effort, &cancel),
                pieces: &|item| vec![item],
                lay: &|_, _| unreachable!("nothing else is laid"),
                go_on: &|_, _, _| unreachable!("nothing else is laid"),
                draw: &|_, _, _| vec![],
                layouts: &|placed| (work.layouts(placed), vec![0]),
            },
            may_give_up: false,
            cancel: &cancel,
            report: &|_, _| {},
        };
        let (layouts, held) = opening.broken(&problem, &round);
        assert_eq!((layouts.len(), layouts[0].placements.len(), held), (1, 3, vec![0]));
        let returned: f64 = layouts[0].returned.iter().map(Outline::area).sum();
        assert!(returned > 430_000.0, "{returned}");
    }

    /// Two pieces 0.6 mm apart that share a score, 0.6 mm off the edge of their sheet: with what the score leaves on them, 0.2 mm, the rest
    /// along the edge is more than the grinder takes. It is broken off, and no piece comes out too large.
    #[test]
    fn what_a_shared_score_leaves_counts_at_the_edge_too() {
        let mut job = sample::job();
        job.pieces.truncate(1);
        job.glasses[0].grind_allowance = 0.5;
        job.pieces[0].cut = Outline::rectangle(100.0, 80.0);
        job.pieces[0].quantity = 2;
        let mut stock = sample::stock();
        stock.items.truncate(1);
        stock.items[0].flaws.clear();
        let accounts = Accounts::new(&job);
        let work = GlassPlanner::new(&job, 0, &stock, &accounts);
        let candidate = &work.candidates[0];
        let corner = candidate.item.outline.bounds().min;
        let at = |copy: u32, x: f64| Placement {
            id: work.pieces[0].id.clone(),
            copy,
            spare: false,
            pose: Pose {
                x: corner.x + x,
                y: corner.y + 0.6,
                ..Pose::IDENTITY
            },
        };
        let mut layout = work.layout(candidate, vec![at(1, 0.6), at(2, 101.2)]);
        layout.edge_trim = 0.0;
        assert!(
            work.glass.ground_off() >= 0.5 && work.apart(&layout).is_ok(),
            "{:?}",
            work.apart(&layout).err()
        );
    }
}

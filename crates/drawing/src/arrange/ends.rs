//! Free ends: pulled onto what they nearly reach, trimmed where they run over, named where they end in the open.

use super::course::{Course, Spot};
use super::grid::Grid;
use super::meet::{Cuts, Index};
use super::{TooMuch, Trouble, TroubleKind};
use crate::curve::length;
use cullet_geometry::Point;
use std::collections::BTreeSet;

/// A gap up to so many snap tolerances wide is called a gap; wider, the line ends in open glass.
const GAP_REACH: f64 = 10.0;
/// An end this near a line is on it, mm: rounding.
const TOUCH_MM: f64 = 1e-6;

/// One end of an open course.
struct End {
    course: usize,
    at_start: bool,
    at: Point,
    /// Its meeting place, unless it was trimmed.
    place: Option<usize>,
    /// Index of the cut there.
    cut: usize,
    attached: bool,
}

/// Gives every open course its ends and joins them; what cannot be joined comes back.
pub(super) fn join(courses: &[Course], index: &Index, cuts: &mut Cuts, snap: f64) -> Result<Vec<Trouble>, TooMuch> {
    let mut crossed: Vec<Vec<f64>> = vec![vec![]; courses.len()];
    for cut in &cuts.cuts {
        crossed[cut.course].push(courses[cut.course].along(cut.spot));
    }
    let mut joiner = Joiner {
        courses,
        index,
        snap,
        crossed,
        cuts,
    };
    let mut ends = joiner.touching()?;
    let free = ends.iter().filter(|end| !end.attached);
    let free: BTreeSet<(usize, bool)> = free.map(|end| (end.course, end.at_start)).collect();
    for end in &mut ends {
        joiner.join_near_line(end, &free)?;
    }
    joiner.join_near_places(&mut ends);
    let open = ends.iter().filter(|end| !end.attached);
    open.map(|end| joiner.open(end)).collect()
}

struct Joiner<'a> {
    courses: &'a [Course],
    index: &'a Index,
    snap: f64,
    /// Where each course is crossed, mm along it.
    crossed: Vec<Vec<f64>>,
    cuts: &'a mut Cuts,
}

impl Joiner<'_> {
    /// All ends: those that touch something are joined with it, those that run over by less than the tolerance trimmed.
    fn touching(&mut self) -> Result<Vec<End>, TooMuch> {
        let mut ends = vec![];
        for (i, course) in self.courses.iter().enumerate().filter(|(_, c)| !c.closed) {
            for at_start in [true, false] {
                let spot = course.end(at_start);
                let at = course.at(spot);
                let along = course.along(spot);
                let runs_over = self.crossed[i].iter().any(|cut| (cut - along).abs() <= self.snap);
                let mut end = End {
                    course: i,
                    at_start,
                    at,
                    place: None,
                    cut: 0,
                    attached: runs_over,
                };
                if !runs_over {
                    let place = self.cuts.place(at);
                    end.cut = self.cuts.cuts.len();
                    self.cuts.add(i, spot, place);
                    end.place = Some(place);
                    for (other, spot, _) in self.near(&end, TOUCH_MM)? {
                        self.cuts.add(other, spot, place);
                        end.attached = true;
                    }
                }
                ends.push(end);
            }
        }
        Ok(ends)
    }

    /// Curves within `reach` of an end, its own line near the end left out: course, nearest spot, distance.
    fn near(&mut self, end: &End, reach: f64) -> Result<Vec<(usize, Spot, f64)>, TooMuch> {
        let course = &self.courses[end.course];
        let own = course.end(end.at_start);
        let near = self.index.within(end.at, end.at, reach);
        self.cuts.look(near.len())?;
        let within = near.into_iter().filter_map(|j| {
            let part = &self.index.parts[j];
            let (t, away) = part.curve.nearest(end.at);
            let spot = Spot { curve: part.index, t };
            let itself = part.course == end.course && course.apart(spot, own) < 4.0 * reach.max(self.snap);
            (away <= reach && !itself).then_some((part.course, spot, away))
        });
        Ok(within.collect())
    }

    /// Free ends within the tolerance of another end or of a crossing go there.
    fn join_near_places(&mut self, ends: &mut [End]) {
        let mut grid = Grid::new(self.snap);
        for (i, p) in self.cuts.places.iter().enumerate() {
            grid.add(*p, i);
        }
        let mut free_at = vec![None; self.cuts.places.len()];
        for (i, end) in ends.iter().enumerate().filter(|(_, end)| !end.attached) {
            if let Some(place) = end.place {
                free_at[place] = Some(i);
            }
        }
        for i in 0..ends.len() {
            let (at, Some(own)) = (ends[i].at, ends[i].place) else {
                continue;
            };
            if ends[i].attached {
                continue;
            }
            let nearest = grid
                .near(at)
                .filter(|place| *place != own)
                .map(|place| (place, length(self.cuts.places[place] - at)))
                .filter(|(place, away)| *away <= self.snap && !self.is_far_end(&ends[i], *place, ends))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((place, _)) = nearest else { continue };
            ends[i].attached = true;
            match free_at[place] {
                Some(other) if !ends[other].attached => {
                    ends[other].attached = true;
                    let meeting = self.corner(&ends[i], &ends[other]);
                    self.move_place(&ends[i], own, meeting);
                    self.move_place(&ends[other], place, meeting);
                }
                _ => {
                    let meeting = self.cuts.places[place];
                    self.cuts.places[own] = meeting;
                }
            }
        }
    }

    /// Whether a place is the other end of the end's own short line, which must not shrink to a point here.
    fn is_far_end(&self, end: &End, place: usize, ends: &[End]) -> bool {
        ends.iter()
            .skip(self.pair_start(end, ends))
            .take(2)
            .any(|other| other.at_start != end.at_start && other.place == Some(place))
            && self.courses[end.course].length() < 4.0 * self.snap
    }

    /// Ends stand in pairs, in the order of their courses.
    fn pair_start(&self, end: &End, ends: &[End]) -> usize {
        ends.partition_point(|other| other.course < end.course)
    }

    /// Where two lines that end near each other meet when both go on, or half way between where they do not.
    fn corner(&self, a: &End, b: &End) -> Point {
        let half_way = (a.at + b.at) / 2.0;
        let last = |end: &End| {
            let course = &self.courses[end.course];
            course.curves[course.end(end.at_start).curve]
        };
        let far = |p: &Point| length(*p - a.at).max(length(*p - b.at));
        last(a)
            .carriers_meet(&last(b))
            .into_iter()
            .filter(|p| far(p) <= 2.0 * self.snap)
            .min_by(|p, q| far(p).total_cmp(&far(q)))
            .unwrap_or(half_way)
    }

    /// Moves an end's place; its line goes on along itself where that leads there.
    fn move_place(&mut self, end: &End, place: usize, to: Point) {
        self.cuts.places[place] = to;
        let course = &self.courses[end.course];
        let spot = course.end(end.at_start);
        let curve = course.curves[spot.curve];
        let t = curve.position_beyond(to);
        let outwards = if end.at_start { t < 0.5 } else { t > 0.5 };
        if outwards && length(curve.at(t) - to) < 1e-6 {
            self.cuts.cuts[end.cut].spot.t = t;
        }
    }

    /// A free end within the tolerance of a line goes on until it meets it, or straight to it where it would not.
    /// Lines that end freely near it too are left to the corner they make together.
    fn join_near_line(&mut self, end: &mut End, free: &BTreeSet<(usize, bool)>) -> Result<(), TooMuch> {
        let Some(place) = end.place.filter(|_| !end.attached) else {
            return Ok(());
        };
        let (courses, snap) = (self.courses, self.snap);
        let ends_there = |other: usize, spot: Spot| {
            let course = &courses[other];
            [true, false]
                .into_iter()
                .filter(|at_start| free.contains(&(other, *at_start)))
                .any(|at_start| course.apart(course.end(at_start), spot) <= snap)
        };
        let mut near = self.near(end, snap)?;
        near.retain(|(other, spot, _)| !ends_there(*other, *spot));
        let Some(nearest) = near.iter().min_by(|a, b| a.2.total_cmp(&b.2)) else {
            return Ok(());
        };
        end.attached = true;
        let course = &self.courses[end.course];
        let own = course.curves[course.end(end.at_start).curve];
        let straight_on = near
            .iter()
            .flat_map(|(other, spot, _)| {
                let curve = self.courses[*other].curves[spot.curve];
                let meets = own.carriers_meet(&curve).into_iter();
                meets.filter_map(move |p| {
                    let t = curve.position_of(p)?;
                    Some((*other, Spot { curve: spot.curve, t }, p))
                })
            })
            .filter(|(.., p)| {
                let t = own.position_beyond(*p);
                let outwards = if end.at_start { t <= 1e-9 } else { t >= 1.0 - 1e-9 };
                outwards && length(*p - end.at) <= 2.0 * self.snap
            })
            .min_by(|a, b| length(a.2 - end.at).total_cmp(&length(b.2 - end.at)));
        let (other, spot, meeting) = match straight_on {
            Some(found) => found,
            None => (nearest.0, nearest.1, self.courses[nearest.0].at(nearest.1)),
        };
        self.cuts.add(other, spot, place);
        self.move_place(end, place, meeting);
        Ok(())
    }

    /// What to say of an end that joins nothing.
    fn open(&mut self, end: &End) -> Result<Trouble, TooMuch> {
        let nearest = self
            .near(end, GAP_REACH * self.snap)?
            .into_iter()
            .min_by(|a, b| a.2.total_cmp(&b.2));
        let course = &self.courses[end.course];
        let own = course.sources[course.end(end.at_start).curve];
        let along = course.along(course.end(end.at_start));
        let over = self.crossed[end.course]
            .iter()
            .map(|cut| (cut - along).abs())
            .fold(f64::INFINITY, f64::min);
        if over <= GAP_REACH * self.snap && nearest.is_none_or(|(.., width)| over <= 1.5 * width) {
            return Ok(Trouble {
                kind: TroubleKind::Overhang { length: over },
                at: end.at,
                lines: vec![own],
            });
        }
        Ok(match nearest {
            Some((other, spot, width)) => Trouble {
                kind: TroubleKind::Gap { width },
                at: (end.at + self.courses[other].at(spot)) / 2.0,
                lines: vec![own, self.courses[other].sources[spot.curve]],
            },
            None => Trouble {
                kind: TroubleKind::OpenEnd,
                at: end.at,
                lines: vec![own],
            },
        })
    }
}

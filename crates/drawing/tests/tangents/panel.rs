//! A random panel: lines, and curves that touch them exactly or nearly, where there is room.

use cullet_drawing::curve::{Curve, cross, dot, length, point, polar};
use cullet_drawing::{Drawing, Place, Segment, Stroke, smooth};
use cullet_geometry::Point;
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

const WIDTH: f64 = 300.0;
const HEIGHT: f64 = 220.0;
/// Curves tighter than this are left out, mm.
const TIGHTEST: f64 = 5.0;

fn stroke(segments: Vec<Segment>, closed: bool, line: u32) -> Stroke {
    let place = Place {
        line,
        what: "path".into(),
    };
    Stroke {
        segments,
        closed,
        layer: String::new(),
        classes: vec![],
        place,
    }
}

fn line(from: Point, to: Point) -> Segment {
    Segment::Line { from, to }
}

fn arc(centre: Point, radius: f64, start: f64, sweep: f64) -> Segment {
    Segment::Arc {
        centre,
        radii: [radius, radius],
        rotation_deg: 0.0,
        start_deg: start.to_degrees(),
        sweep_deg: sweep.to_degrees(),
    }
}

/// Where what is drawn touches a line that is there.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Touch {
    /// Which line, and where along it.
    on: prop::sample::Index,
    share: f64,
    /// On its left.
    left: bool,
    /// How far it stays short of it, below 0 how far it goes over, mm.
    short: f64,
    /// The way on, where there are two.
    ahead: bool,
}

#[derive(Debug, Clone, Copy)]
pub(crate) enum Element {
    /// A whole circle beside the line.
    Circle(Touch, f64),
    /// A circle that touches two lines.
    Between(Touch, Touch),
    /// An arc that touches the line and goes on to the panel's edge both ways.
    Arc(Touch, f64),
    /// An arc or a straight line that leaves the line along it and goes to the panel's edge.
    Leaving(Touch, f64),
    /// A spline that leaves the line along it and ends on the panel's edge.
    Leaf(Touch, f64, f64, f64),
}

/// The first line through the panel.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Base {
    Line(f64, f64),
    Bow(f64, f64, f64),
    Wave(f64, f64, f64, f64),
}

fn touch() -> impl Strategy<Value = Touch> {
    let short = prop_oneof![
        3 => Just(0.0),
        1 => Just(0.01),
        1 => Just(-0.01),
        1 => Just(0.2),
        1 => Just(-0.2),
        2 => -0.25..0.25f64,
        1 => -1e-3..1e-3f64,
    ];
    let shares = (
        any::<prop::sample::Index>(),
        0.05..0.95f64,
        any::<bool>(),
        short,
        any::<bool>(),
    );
    shares.prop_map(|(on, share, left, short, ahead)| Touch {
        on,
        share,
        left,
        short,
        ahead,
    })
}

pub(crate) fn element() -> impl Strategy<Value = Element> {
    prop_oneof![
        3 => (touch(), 6.0..60.0f64).prop_map(|(t, r)| Element::Circle(t, r)),
        2 => (touch(), touch()).prop_map(|(a, b)| Element::Between(a, b)),
        2 => (touch(), 20.0..300.0f64).prop_map(|(t, r)| Element::Arc(t, r)),
        2 => (touch(), prop_oneof![Just(0.0), 15.0..300.0f64]).prop_map(|(t, r)| Element::Leaving(t, r)),
        2 => (touch(), 15.0..90.0f64, 0.0..1.0f64, 10.0..80.0f64).prop_map(|(t, a, at, b)| Element::Leaf(t, a, at, b)),
    ]
}

pub(crate) fn base() -> impl Strategy<Value = Base> {
    prop_oneof![
        (0.1..0.9f64, 0.1..0.9f64).prop_map(|(a, b)| Base::Line(a, b)),
        (0.2..0.8f64, 0.2..0.8f64, -50.0..50.0f64).prop_map(|(a, b, rise)| Base::Bow(a, b, rise)),
        (0.2..0.8f64, 0.2..0.8f64, -80.0..80.0f64, -80.0..80.0f64).prop_map(|(a, b, u, v)| Base::Wave(a, b, u, v)),
    ]
}

/// What has been drawn: each line as it is written and as curves to touch.
struct Panel {
    strokes: Vec<Stroke>,
    curves: Vec<Vec<Curve>>,
}

fn unit(v: Point) -> Point {
    v / length(v)
}

fn left_of(v: Point) -> Point {
    point(-v.y, v.x)
}

impl Panel {
    /// Adds a line, unless it lies on another for a good part of either: that would be two lines on each other.
    fn add(&mut self, segments: Vec<Segment>, closed: bool) {
        let curves: Vec<Curve> = segments.iter().flat_map(smooth::curves).collect();
        let size = |curves: &[Curve]| curves.iter().map(Curve::length).sum::<f64>();
        let steps = |c: &Curve| (c.length() / 0.5).ceil().max(1.0);
        let points: Vec<Point> = curves
            .iter()
            .flat_map(|c| (0..steps(c) as u32).map(|i| c.at(f64::from(i) / steps(c))))
            .collect();
        let lies_on = |other: &Vec<Curve>| {
            let near = points
                .iter()
                .filter(|p| other.iter().any(|c| c.distance(**p) < 0.8))
                .count();
            near as f64 * 0.5 > 0.25 * size(other).min(size(&curves))
        };
        if self.curves.iter().any(lies_on) {
            return;
        }
        self.curves.push(curves);
        let number = self.strokes.len() as u32;
        self.strokes.push(stroke(segments, closed, number));
    }

    /// The place on a line, the way along it, and its side: a point, a unit vector, a unit vector away from it.
    fn spot(&self, touch: Touch) -> (Point, Point, Point) {
        let curves = &self.curves[touch.on.index(self.curves.len())];
        let whole: f64 = curves.iter().map(Curve::length).sum();
        let mut rest = whole * touch.share;
        let mut at = (curves[0].at(0.0), curves[0].direction(0.0));
        for curve in curves {
            if rest <= curve.length() {
                let t = rest / curve.length();
                at = (curve.at(t), curve.direction(t));
                break;
            }
            rest -= curve.length();
        }
        let along = if touch.ahead { at.1 } else { at.1 * -1.0 };
        let away = if touch.left {
            left_of(at.1)
        } else {
            left_of(at.1) * -1.0
        };
        (at.0, along, away)
    }

    /// How sharply the line bends there, 1/mm, positive towards the side of the touch.
    fn bend(&self, touch: Touch) -> f64 {
        let (at, _, away) = self.spot(touch);
        let curves = &self.curves[touch.on.index(self.curves.len())];
        let nearest = curves.iter().min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)));
        match nearest {
            Some(Curve::Arc { centre, radius, .. }) => dot(*centre - at, away).signum() / radius,
            _ => 0.0,
        }
    }

    fn is_inside(p: Point, margin: f64) -> bool {
        p.x > margin && p.y > margin && p.x < WIDTH - margin && p.y < HEIGHT - margin
    }

    /// A curve that bends as the line does there lies on it for a while: two lines on each other, and rightly so.
    fn lies_along(&self, touch: Touch, bend: f64) -> bool {
        (self.bend(touch) - bend).abs() < 1.0 / 1000.0
    }

    /// Adds what an element is where there is room for it.
    fn put(&mut self, element: Element) {
        match element {
            Element::Circle(touch, radius) => self.circle_beside(touch, radius),
            Element::Between(a, b) => self.circle_between(a, b),
            Element::Arc(touch, radius) => {
                if !self.lies_along(touch, 1.0 / radius) {
                    self.arc_to_edges(touch, radius);
                }
            }
            Element::Leaving(touch, radius) => {
                let bend = if radius > 0.0 { 1.0 / radius } else { 0.0 };
                if !self.lies_along(touch, bend) {
                    self.leave(touch, radius);
                }
            }
            Element::Leaf(touch, first, at, last) => self.leaf(touch, first, at, last),
        }
    }

    fn circle_beside(&mut self, touch: Touch, radius: f64) {
        let (at, _, away) = self.spot(touch);
        // As large as the panel lets it be.
        let fits = |r: f64| {
            let c = at + away * r;
            let room = c.x.min(c.y).min(WIDTH - c.x).min(HEIGHT - c.y);
            room >= r - 0.3
        };
        let Some(radius) = [1.0, 0.6, 0.3, 0.15]
            .map(|s| radius * s)
            .into_iter()
            .find(|r| *r > 6.0 && fits(*r))
        else {
            return;
        };
        if !self.lies_along(touch, 1.0 / radius) {
            let centre = at + away * (radius + touch.short);
            self.circle(centre, radius);
        }
    }

    fn circle_between(&mut self, a: Touch, b: Touch) {
        let (p, _, away) = self.spot(a);
        let second = &self.curves[b.on.index(self.curves.len())];
        // The circle at `p` that just touches the other line.
        let gap = |r: f64| {
            let c = p + away * r;
            second
                .iter()
                .map(|curve| curve.distance(c))
                .fold(f64::INFINITY, f64::min)
                - r
        };
        if b.on.index(self.curves.len()) == a.on.index(self.curves.len()) || gap(6.0) < 0.0 || gap(100.0) > 0.0 {
            return;
        }
        let (mut low, mut high) = (6.0, 100.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if gap(middle) > 0.0 { low = middle } else { high = middle }
        }
        let centre = p + away * low;
        let room = centre.x.min(centre.y).min(WIDTH - centre.x).min(HEIGHT - centre.y);
        if room >= low - 1e-6 {
            self.circle(centre, low - a.short);
        }
    }

    fn arc_to_edges(&mut self, touch: Touch, radius: f64) {
        let (at, _, away) = self.spot(touch);
        let centre = at + away * (radius + touch.short);
        let middle = (at.y - centre.y).atan2(at.x - centre.x);
        let (back, ahead) = (
            to_edge(centre, radius, middle, -1.0),
            to_edge(centre, radius, middle, 1.0),
        );
        if let (Some(back), Some(ahead)) = (back, ahead)
            && Self::is_inside(at, 1.0)
        {
            self.add(vec![arc(centre, radius, middle - back, back + ahead)], false);
        }
    }

    fn leave(&mut self, touch: Touch, radius: f64) {
        let (at, along, away) = self.spot(touch);
        let at = at + away * touch.short;
        if !Self::is_inside(at, 3.0) {
            return;
        }
        if radius == 0.0 {
            let reach = [
                (WIDTH - at.x) / along.x,
                -at.x / along.x,
                (HEIGHT - at.y) / along.y,
                -at.y / along.y,
            ];
            let reach = reach.into_iter().filter(|t| *t > 0.0).fold(f64::INFINITY, f64::min);
            if reach > 20.0 {
                self.add(vec![line(at, at + along * reach)], false);
            }
            return;
        }
        let centre = at + away * radius;
        let start = (at.y - centre.y).atan2(at.x - centre.x);
        let way = cross(at - centre, along).signum();
        if let Some(sweep) = to_edge(centre, radius, start, way)
            && sweep * radius > 20.0
        {
            self.add(vec![arc(centre, radius, start, way * sweep)], false);
        }
    }

    fn leaf(&mut self, touch: Touch, first: f64, at: f64, last: f64) {
        let (from, along, away) = self.spot(touch);
        let from = from + away * touch.short;
        let end = round_the_edge(at);
        let inwards = unit(point(WIDTH / 2.0, HEIGHT / 2.0) - end);
        let on_this_side = dot(end - from, away) > 20.0 && dot(end - from, along) > 0.0;
        if !Self::is_inside(from, 3.0) || !on_this_side {
            return;
        }
        let cubic = Segment::Cubic {
            from,
            a: from + along * first,
            b: end + inwards * last,
            to: end,
        };
        let curves = smooth::curves(&cubic);
        let tight = curves
            .iter()
            .any(|c| matches!(c, Curve::Arc { radius, .. } if *radius < 1.5 * TIGHTEST));
        let leaves_panel = curves.iter().any(|c| !Self::is_inside(c.at(0.0), 1.0));
        if !tight && !leaves_panel {
            self.add(vec![cubic], false);
        }
    }

    fn circle(&mut self, centre: Point, radius: f64) {
        self.add(vec![arc(centre, radius, 0.3, TAU)], true);
    }
}

/// How far round a circle from `start` it meets the panel's edge, radians, the way of `sign`.
fn to_edge(centre: Point, radius: f64, start: f64, sign: f64) -> Option<f64> {
    let is_inside = |sweep: f64| Panel::is_inside(polar(centre, radius, start + sign * sweep), 0.0);
    let step = 0.5 / radius;
    let steps = (1.2 * PI / step) as usize;
    let out = (1..steps).map(|i| i as f64 * step).find(|sweep| !is_inside(*sweep))?;
    let (mut low, mut high) = (out - step, out);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if is_inside(middle) { low = middle } else { high = middle }
    }
    // Where it runs along the edge it would lie on it.
    let p = polar(centre, radius, start + sign * low);
    let ahead = left_of(unit(p - centre)) * sign;
    let on_side = p.x < 1e-3 || p.x > WIDTH - 1e-3;
    let steep = if on_side { ahead.x.abs() } else { ahead.y.abs() };
    (steep > 0.2 && low * radius > 10.0).then_some(low)
}

/// A place on the panel's edge, clear of its corners.
fn round_the_edge(share: f64) -> Point {
    let along = share * 4.0;
    let s = 0.1 + 0.8 * along.fract();
    match along as u32 {
        0 => point(WIDTH * s, 0.0),
        1 => point(WIDTH, HEIGHT * s),
        2 => point(WIDTH * s, HEIGHT),
        _ => point(0.0, HEIGHT * s),
    }
}

pub(crate) fn drawn(base: Base, elements: &[Element]) -> Drawing {
    let mut panel = Panel {
        strokes: vec![],
        curves: vec![],
    };
    let corners = [
        point(0.0, 0.0),
        point(WIDTH, 0.0),
        point(WIDTH, HEIGHT),
        point(0.0, HEIGHT),
    ];
    panel.add((0..4).map(|i| line(corners[i], corners[(i + 1) % 4])).collect(), true);
    let (left, right) = (|a: f64| point(0.0, a * HEIGHT), |b: f64| point(WIDTH, b * HEIGHT));
    match base {
        Base::Line(a, b) => panel.add(vec![line(left(a), right(b))], false),
        Base::Bow(a, b, rise) => {
            let curve = Curve::over_chord(left(a), right(b), rise);
            if let (
                Curve::Arc {
                    centre,
                    radius,
                    start,
                    turn,
                },
                true,
            ) = (curve, rise.abs() > 1.0)
            {
                panel.add(vec![arc(centre, radius, start, turn)], false);
            }
        }
        Base::Wave(a, b, u, v) => {
            let (from, to) = (left(a), right(b));
            let cubic = Segment::Cubic {
                from,
                a: from + point(110.0, u),
                b: to - point(110.0, v),
                to,
            };
            panel.add(vec![cubic], false);
        }
    }
    for element in elements {
        panel.put(*element);
    }
    Drawing {
        strokes: panel.strokes,
        texts: vec![],
        ..Drawing::default()
    }
}

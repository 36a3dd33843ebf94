//! The overlap kernel against `geo` and `parry2d-f64`, the same queries in the same run: single pairs near contact, one
//! piece against a container of 100 placed ones, and pairs of growing numbers of corners.
//!
//! All three get their shapes ready beforehand; what is timed is the question alone. `geo` is even given its polygons at
//! their places, and its boxes in a tree. `parry` gets each piece as exact convex parts, or as its boundary line, whichever
//! turns out faster is the one to compare with (the line does not see a piece wholly inside another). Against a container
//! all are asked a second time, one piece after another without a tree. Answers are compared before anything is timed.
#![allow(missing_docs, reason = "criterion's macros make public items")]

#[path = "kernel/engines.rs"]
mod engines;
#[path = "kernel/pieces.rs"]
mod pieces;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use engines::{Boundary, BoundaryInTurn, Engine, Geo, GeoInTurn, Kernel, PairEngine, Parts, PartsInTurn};
use pieces::{Pair, Random, packed, pairs};
use std::hint::black_box;
use std::time::Duration;

/// Share of the answers that may differ: pairs that graze each other within the kernel's tolerance.
const MAY_DIFFER: f64 = 0.01;

/// Most pairs timed in one go.
const PAIRS: usize = 500;

fn single_pairs(criterion: &mut Criterion) {
    for corners in [8, 20, 50, 100, 200] {
        let pairs = pairs(&mut Random::new(1), corners, PAIRS);
        let expected: Vec<bool> = pairs.iter().map(|pair| Geo::pair(pair)()).collect();
        let mut group = criterion.benchmark_group(format!("pairs near contact, {corners} corners"));
        group.throughput(Throughput::Elements(pairs.len() as u64));
        time_pairs::<Kernel>(&mut group, &pairs, &expected);
        time_pairs::<Geo>(&mut group, &pairs, &expected);
        time_pairs::<Parts>(&mut group, &pairs, &expected);
        time_pairs::<Boundary>(&mut group, &pairs, &expected);
        group.finish();
    }
}

type Group<'a> = criterion::BenchmarkGroup<'a, criterion::measurement::WallTime>;

fn time_pairs<E: PairEngine>(group: &mut Group, pairs: &[Pair], expected: &[bool]) {
    let queries: Vec<_> = pairs.iter().map(E::pair).collect();
    let answers: Vec<bool> = queries.iter().map(|query| query()).collect();
    agree(E::NAME, &answers, expected);
    group.bench_function(BenchmarkId::from_parameter(E::NAME), |bencher| {
        bencher.iter(|| queries.iter().filter(|query| black_box(query)()).count());
    });
}

fn one_against_a_hundred(criterion: &mut Criterion) {
    let container = packed(&mut Random::new(2), 20, 100);
    let expected: Vec<bool> = engines::scene_answers::<Geo>(&container);
    let mut group = criterion.benchmark_group("one piece against 100 placed, 20 corners");
    group.throughput(Throughput::Elements(container.asked.len() as u64));
    time_scene::<Kernel>(&mut group, &container, &expected);
    time_scene::<Geo>(&mut group, &container, &expected);
    time_scene::<Parts>(&mut group, &container, &expected);
    time_scene::<Boundary>(&mut group, &container, &expected);
    time_scene::<GeoInTurn>(&mut group, &container, &expected);
    time_scene::<PartsInTurn>(&mut group, &container, &expected);
    time_scene::<BoundaryInTurn>(&mut group, &container, &expected);
    group.finish();
}

fn time_scene<E: Engine>(group: &mut Group, container: &pieces::Packed, expected: &[bool]) {
    agree(E::NAME, &engines::scene_answers::<E>(container), expected);
    let query = E::scene(container);
    group.bench_function(BenchmarkId::from_parameter(E::NAME), |bencher| {
        bencher.iter(|| (0..container.asked.len()).filter(|i| query(black_box(*i))).count());
    });
}

fn agree(name: &str, answers: &[bool], expected: &[bool]) {
    let differ = answers.iter().zip(expected).filter(|(a, b)| a != b).count();
    let share = differ as f64 / expected.len() as f64;
    assert!(
        share <= MAY_DIFFER,
        "{name} gives {differ} other answers of {}",
        expected.len()
    );
    let hits = expected.iter().filter(|hit| **hit).count() as f64 / expected.len() as f64;
    assert!(
        (0.2..=0.8).contains(&hits),
        "{hits} of the queries overlap: not near contact"
    );
}

criterion_group! {
    name = kernel;
    config = Criterion::default().measurement_time(Duration::from_secs(3)).sample_size(30);
    targets = single_pairs, one_against_a_hundred
}
criterion_main!(kernel);

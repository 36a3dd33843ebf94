//! Faults in where pieces lie: overlaps, edges, flaws, grain, sides.

use super::{Fault, on};
use cullet_geometry::Pose;

pub(super) const FAULTS: &[Fault] = &[
    ("overlap of 0.01 mm", &["they overlap, 0.010 mm deep"], true, |p, _| {
        // Side by side, 102 wide, one 8.01 nearer.
        on(p, 1)[1].pose.x -= 8.01;
        on(p, 1)[1].pose.y += 300.0;
        on(p, 1)[0].pose.y += 300.0;
        p.glasses[0].layouts[0].returned.pop();
    }),
    ("one piece within another", &["they overlap"], true, |p, _| {
        let pose = on(p, 3)[0].pose;
        on(p, 3)[1].pose = pose;
    }),
    (
        "0.01 mm short of the clearance",
        &["7.990 mm apart, at least 8.000 mm"],
        true,
        |p, _| {
            on(p, 1)[0].pose.y += 0.01;
        },
    ),
    (
        "0.01 mm over the trim",
        &["9.990 mm from the sheet's edge, the edge trim is 10.000 mm"],
        true,
        |p, _| {
            on(p, 1)[0].pose.x -= 0.01;
        },
    ),
    (
        "0.01 mm over the trim of an offcut",
        &["9.990 mm from the sheet's edge"],
        true,
        |p, _| {
            // The square's corner against the slanting corner cut: x + y = 500, 10 mm inside it.
            let pose = &mut on(p, 2)[0].pose;
            (pose.x, pose.y) = (240.0, 500.0 - 10.0 * 2f64.sqrt() - 241.0 - 101.0 + 0.01 * 2f64.sqrt());
        },
    ),
    (
        "0.01 mm over the edge",
        &["it sticks out 0.010 mm over the sheet's edge"],
        true,
        |p, _| {
            on(p, 1)[0].pose.x = 0.99;
        },
    ),
    ("off the sheet", &["it lies off the sheet"], true, |p, _| {
        on(p, 1)[0].pose.x = -5000.0
    }),
    ("0.01 mm on a flaw", &["it lies 0.010 mm over flaw 1"], true, |p, _| {
        on(p, 2)[0].pose.x += 9.01
    }),
    (
        "reeds across",
        &["its grain is 90.000° off, it must run either way"],
        true,
        |p, _| {
            on(p, 3)[0].pose = Pose {
                rotation_deg: 90.0,
                x: 250.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "just over the grain tolerance",
        &["its grain is 2.001° off"],
        true,
        |p, _| {
            on(p, 3)[0].pose = Pose {
                rotation_deg: 2.001,
                x: 250.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "a one-way grain upside down",
        &["its grain is 180.000° off, it must run one way"],
        true,
        |p, _| {
            on(p, 4)[0].pose = Pose {
                rotation_deg: 210.0,
                x: 300.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "a bevelled piece turned over",
        &["copy 1: bevelled, but turned over"],
        true,
        |p, _| {
            on(p, 1)[5].pose = Pose {
                turned_over: true,
                x: 430.0,
                y: 121.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "turned over where the glass forbids it",
        &["turned over, which its glass does not allow"],
        true,
        |p, _| {
            on(p, 3)[0].pose = Pose {
                turned_over: true,
                x: 300.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
];

//! Runs published instances. (Draft.)
use cullet_geometry::{Outline, Point};
use cullet_nest::*;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let seconds: f64 = args[2].parse().unwrap();
    let lanes: usize = args[3].parse().unwrap();
    let seeds: u64 = args[4].parse().unwrap();
    for name in &args[5..] {
        let text = std::fs::read_to_string(format!("{}/{name}.json", args[1])).unwrap();
        let v: serde_json::Value = serde_json::from_str(&text).unwrap();
        let width = v["strip_width"].as_f64().unwrap();
        let scale = 1000.0 / width;
        let items: Vec<Item> = v["pieces"].as_array().unwrap().iter().map(|p| {
            let pts = p["outline"].as_array().unwrap().iter().map(|q| Point { x: q[0].as_f64().unwrap() * scale, y: q[1].as_f64().unwrap() * scale }).collect();
            Item {
                outline: Outline::new(pts).unwrap(),
                count: p["demand"].as_u64().unwrap() as u32,
                turns: match p["allowed_rotations_deg"].as_array() { Some(a) if std::env::var("FREE").is_err() => Turns::only(a.iter().map(|r| r.as_f64().unwrap()).collect()), _ => Turns::free() },
                turned_over: None,
                allowed: vec![],
            }
        }).collect();
        let area: f64 = items.iter().map(|i| i.outline.area() * i.count as f64).sum();
        let mut all = vec![]; let t0 = Instant::now();
        for seed in 1..=seeds {
        let start = Instant::now();
        let cancel = AtomicBool::new(false);
        let log = std::env::var("LOG").is_ok();
        let best = strip(&items, 1000.0, 0.0, 0.01, Effort { seed, limit: Limit::Seconds(seconds), lanes }, &cancel, &|l| if log { eprintln!("  {:.2}s {:.3}", start.elapsed().as_secs_f64(), 100.0 * area / (1000.0 * l.length)) }).unwrap();
        {
            use geo::{Area, BooleanOps, BoundingRect};
            let polys: Vec<_> = best.placed.iter().map(|p| items[p.item].outline.posed(&p.pose).to_polygon()).collect();
            let mut worst: f64 = 0.0;
            for i in 0..polys.len() { for j in 0..i { let a = polys[i].intersection(&polys[j]).unsigned_area(); worst = worst.max(a); } }
            let b = polys.iter().map(|p| p.bounding_rect().unwrap()).fold((f64::MAX, f64::MAX, f64::MIN, f64::MIN), |b, r| (b.0.min(r.min().x), b.1.min(r.min().y), b.2.max(r.max().x), b.3.max(r.max().y)));
            println!("   worst overlap {worst:.4} mm2, bounds {b:?} length {}", best.length);
        }
        all.push(100.0 * area / (1000.0 * best.length));
        }
        println!("{name} {:.2}s mean {:.3} max {:.3} all {:.2?}", t0.elapsed().as_secs_f64() / seeds as f64, all.iter().sum::<f64>() / all.len() as f64, all.iter().fold(0.0f64, |a, b| a.max(*b)), all);
    }
}

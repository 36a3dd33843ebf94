//! Bad job files: every one gets findings in the user's words, all at once.

use cullet_job::Job;

/// A small good job in millimetres; tests change one thing in it.
const GOOD: &str = r#"{
  "name": "Stair window", "units": "mm", "y": "up",
  "glasses": [
    {"code": "CL", "name": "clear", "thickness": 4, "grain": "none", "may_turn_over": true,
     "scored_face": "show", "grind_allowance": 0.5, "price": 40, "price_unit": "m2"},
    {"code": "RD", "name": "reeded", "thickness": 4, "grain": "two-ways", "grain_tolerance": 2,
     "may_turn_over": false, "scored_face": "back", "grind_allowance": 0.5, "price": 55, "price_unit": "m2"}
  ],
  "panels": [
    {"id": "S", "quantity": 1, "mirrored_quantity": 1, "pieces": [
      {"number": "1", "outline": [[0, 0], [100, 0], [100, 80], [0, 80]], "glass": "CL"},
      {"number": "2", "outline": [[110, 0], [210, 0], [210, 80]], "glass": "RD", "grain": 45, "spares": 1},
      {"number": "3", "outline": [[0, 90], [100, 90], [100, 190], [0, 190]], "glass": "CL",
       "bevel": {"width": 12, "nose": 2}}
    ]}
  ]
}"#;

/// Changes the good job at each `(from, to)` and compares the findings, written `place: found, expected`, in any order.
#[track_caller]
fn check(changes: &[(&str, &str)], expected: &[&str]) {
    let mut text = GOOD.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "the good job has no {from}");
        text = text.replacen(from, to, 1);
    }
    let found: Vec<String> = match Job::read("job.json", &text) {
        Ok(_) => vec![],
        Err(findings) => {
            assert!(findings.0.iter().all(|f| f.file == "job.json" && !f.hint.is_empty()));
            findings
                .0
                .iter()
                .map(|f| format!("{}: {}, {}", f.place, f.found, f.expected))
                .collect()
        }
    };
    let mut sorted = found.clone();
    sorted.sort();
    let mut expected = expected.to_vec();
    expected.sort_unstable();
    assert_eq!(sorted, expected, "all findings: {found:#?}");
}

#[test]
fn the_good_job_is_good() {
    check(&[], &[]);
}

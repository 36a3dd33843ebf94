//! Whatever a browser sends, the page answers, and the job that lies in the folder stays one that can be read.
#![no_main]

use cullet_fuzz::folder;
use cullet_job::Job;
use cullet_server::Trial;
use libfuzzer_sys::fuzz_target;
use std::fs;
use std::path::PathBuf;
use std::sync::OnceLock;

const JOB: &str = r#"{"format": 2, "name": "Porch", "units": "mm", "y": "up",
    "glasses": [{"code": "CL", "name": "Clear", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
                 "grind_allowance": 0.5, "price": 20, "price_unit": "m2"}],
    "panels": [{"id": "P", "quantity": 1, "pieces": [{"number": "1", "glass": "CL", "outline": [[0, 0], [120, 0], [120, 80], [0, 80]]}]}]}"#;

/// A rack as it is before every question.
fn rack() -> &'static PathBuf {
    static RACK: OnceLock<PathBuf> = OnceLock::new();
    RACK.get_or_init(|| {
        let rack = folder().join("first");
        let size = ["--glass", "CL", "--width", "400", "--height", "300", "--units", "mm"];
        let add = [
            "rack",
            "add",
            "--rack",
            &rack.display().to_string(),
            "sheet",
            "--tag",
            "S",
        ];
        cullet_fuzz::runs(&[&add[..], &size].concat());
        rack
    })
}

fuzz_target!(|asked: &[u8]| {
    let shop = folder().join("shop");
    let _ = fs::remove_dir_all(&shop);
    fs::create_dir(&shop).expect("a folder");
    fs::write(shop.join("job.json"), JOB).expect("a job");
    fs::copy(rack(), shop.join("shop.rack")).expect("a rack");
    let trial = Trial::new(&shop).expect("a folder");
    let status = trial.ask(asked);
    assert!(status.is_none_or(|status| (200..500).contains(&status)), "{status:?}");
    let job = fs::read_to_string(shop.join("job.json")).expect("the job");
    if let Err(findings) = Job::read("job.json", &job) {
        panic!("{findings}: {job}");
    }
});

//! Whatever text comes in, the job reader gives pieces of some size or says what is wrong.
#![no_main]

use cullet_job::Job;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match Job::read("job.json", text) {
        Ok(job) => assert!(
            job.pieces
                .iter()
                .all(|p| p.cut.area() > 0.0 && p.cut.area().is_finite())
        ),
        Err(findings) => assert!(!findings.0.is_empty()),
    }
});

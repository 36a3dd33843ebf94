//! Whatever text comes in, the reader of piece lists gives a job that the job reader takes or says what is wrong.
#![no_main]

use cullet_job::{Job, list_as_job};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match list_as_job("pieces.csv", text, None) {
        // The list is judged with its glasses, which a shop file or the job gives.
        Ok((job, _)) => drop(Job::read("pieces.csv", &job.to_string())),
        Err(findings) => assert!(!findings.0.is_empty()),
    }
});

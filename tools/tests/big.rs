//! The timing job has as many pieces as asked for, and every one can be read.

use anyhow::Result;
use cullet_job::Job;
use cullet_tools::{big, files};

#[test]
fn as_many_pieces_as_asked_for() -> Result<()> {
    for (pieces, kinds) in [(2000, 40), (2003, 40), (7, 7), (5, 1)] {
        let job = Job::read("job.json", &files::job_text(&big::job(pieces, kinds)?)?)?;
        let cut: u32 = job.pieces.iter().map(|p| p.quantity).sum();
        assert_eq!((cut, job.pieces.len()), (pieces, kinds as usize));
        assert_eq!(job.warnings("job.json", &[]), vec![]);
    }
    Ok(())
}

#[test]
fn fewer_pieces_than_kinds_is_refused() {
    assert!(big::job(3, 4).is_err());
    assert!(big::job(3, 0).is_err());
}

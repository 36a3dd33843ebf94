//! The committed schema of the job file is the one the program has.

use anyhow::{Result, ensure};

#[test]
fn committed_schema_is_current() -> Result<()> {
    let committed = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/job.schema.json"))?;
    ensure!(
        committed == cullet_tools::schema::text()?,
        "fixtures/job.schema.json is stale: remake it with `cargo run -p cullet-tools -- schema`"
    );
    Ok(())
}

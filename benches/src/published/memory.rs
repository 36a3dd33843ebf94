//! Peak memory of this process, as the Linux kernel counts it (proc(5): `VmHWM`, `clear_refs`).

use std::fs;

/// Starts counting anew. Does nothing where the kernel does not offer it.
pub fn forget_peak() {
    // 5 resets the peak of the resident set.
    let _ = fs::write("/proc/self/clear_refs", "5");
}

/// Greatest resident set since [`forget_peak`], MiB; `None` where the kernel does not tell.
#[must_use]
pub fn peak_mib() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kib: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib / 1024.0)
}

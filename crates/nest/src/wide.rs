//! Wide vectors where the machine has them, chosen while running, so that a program built on one machine runs on another.
//!
//! No result depends on the choice: the compiler neither reorders nor fuses floating-point operations.

/// Compiles a function three times, for 512-bit, 256-bit and 128-bit vectors, and calls the widest version that the machine runs.
///
/// What the function calls is only compiled with it where that is inlined: `#[inline(always)]`, and loops instead of iterators
/// that take closures. A call costs about a nanosecond more.
macro_rules! vectorised {
    ($function:item) => {
        #[multiversion::multiversion(targets(
            "x86_64+avx2+avx512f+avx512bw+avx512cd+avx512dq+avx512vl+bmi1+bmi2+lzcnt+popcnt",
            "x86_64+avx2+bmi1+bmi2+lzcnt+popcnt"
        ))]
        $function
    };
}
pub(crate) use vectorised;

/// The larger of two numbers that are never NaN: one instruction, in vectors too.
#[inline(always)]
pub(crate) fn larger<T: PartialOrd>(a: T, b: T) -> T {
    if a > b { a } else { b }
}

/// The smaller of two numbers that are never NaN.
#[inline(always)]
pub(crate) fn smaller<T: PartialOrd>(a: T, b: T) -> T {
    if a < b { a } else { b }
}

//! The program: hands its arguments to the library and exits with its code.

fn main() {}

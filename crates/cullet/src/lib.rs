//! The command line. (CLI HELPER.)

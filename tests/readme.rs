//! Runs the README's console examples and compares what they print. To remake them after a change:
//! `TRYCMD=overwrite cargo test -p cullet --test readme`, then look at the difference.

#[test]
fn the_readmes_examples_print_what_it_says() {
    trycmd::TestCases::new().case("../../README.md");
}

//! The `pourwright` command.
fn main() {}

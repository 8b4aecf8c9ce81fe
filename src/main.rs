//! `inktell` on the command line.
fn main() {}

//! Nothing but dependencies: the features of shared packages, the same whatever is built.
//!
//! Cargo compiles a package again for each set of features that a command's packages ask for together. The terminal
//! program, the tests, the window and its tests share some two hundred packages and ask for a few of them
//! differently; what they ask for is named in this package's manifest, once, so that each is compiled once.

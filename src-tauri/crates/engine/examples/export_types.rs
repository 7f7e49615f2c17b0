//! Writes the TypeScript types of the engine's answers into the folder given as the only argument.

fn main() {}

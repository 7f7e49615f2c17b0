//! Many products scored and ranked in many draws.
//!
//! Scores come from a [`keys::Source`] block by block of draws, as whole numbers that compare alike, and are ranked while the block
//! is in the cache. Sources are [`mix::Mix`] (points times weights), [`noise::Noise`] (the same with an error of each point drawn
//! anew) and drawn profiles ([`crate::acceptability`]). [`places::Places`] ranks all products, [`pairs::Pairs`] counts who is before whom;
//! [`top::top`] counts the first few of very many, and makes scores of its own, which never leave the registers.
//!
//! Most loops are plain ones over arrays that compilers turn into vector instructions; `pulp` picks, at run time, the copy that was
//! compiled for the vector units of the machine. What such a loop calls must be inlined into it (`inline(always)`, and no closure
//! handed to an iterator), or it stays as narrow as the build. Counts are whole numbers, added up at the end, so the number of
//! threads changes nothing.

mod beaten;
mod columns;
mod few;
pub mod keys;
mod level;
mod lines;
pub mod mix;
mod network;
pub mod noise;
mod normal;
pub mod pairs;
pub mod places;
mod planes;
mod ranking;
mod short;
#[cfg(test)]
mod tests;
mod tiles;
pub mod top;

//! What the command line prints with `--json` and what the window draws: one set of answers for both.
//!
//! These types are the contract; inner types are converted here by hand so that they stay free to change.
//! All numbers are finite; what is not known is `null`.

mod backup;
mod band;
mod bands;
mod bench;
mod chart;
mod claims;
mod compare;
mod conformance;
#[cfg(test)]
pub(crate) mod fixture;
mod history;
mod judgement;
mod maintenance;
mod network;
mod photo;
mod prices;
mod product;
mod publication;
mod robust;
mod rubric;
mod sweep;

pub use backup::*;
pub use band::*;
pub use bands::*;
pub use bench::*;
pub use chart::*;
pub use claims::*;
pub use compare::*;
pub use conformance::*;
pub use history::*;
pub use judgement::*;
pub use maintenance::*;
pub use network::*;
pub use photo::*;
pub use prices::*;
pub use product::*;
pub use publication::*;
pub use robust::*;
pub use rubric::*;
pub use sweep::*;

/// Derives shared by all answers.
macro_rules! answer {
    ($(#[$meta:meta])* pub struct $name:ident { $($(#[$fmeta:meta])* pub $field:ident : $ty:ty,)* }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize)]
        #[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
        pub struct $name { $($(#[$fmeta])* pub $field: $ty,)* }
    };
}
pub(crate) use answer;

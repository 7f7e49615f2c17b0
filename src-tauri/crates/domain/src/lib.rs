//! The vocabulary of the bench: parts, evidence, units, findings, products, prices.
//!
//! Pure data and conversion: no I/O, no clock, no SQL, no scoring.
//! All stored numbers are SI (m, kg, s, ohm, H, F, T·m, m/N, kg/s, m³); the text as typed is kept beside them.
//! No function returns NaN or an infinity; what cannot be read is an error that names the text and the accepted forms.
#![forbid(unsafe_code)]

pub mod claim;
pub mod dictionary;
pub mod dossier;
pub mod draw;
pub mod evidence;
pub mod finding;
pub mod key;
pub mod money;
pub mod network;
pub mod part;
pub mod photo;
pub mod price;
pub mod product;
pub mod reading;
pub mod sweep;
pub mod sweep_text;
pub mod text;
pub mod unit;

pub use jiff::civil::Date;

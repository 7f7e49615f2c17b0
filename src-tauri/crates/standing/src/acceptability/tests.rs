//! Checks of the counts: lattices of weights without randomness, exact shares, properties.

mod continuous;
mod lattice;
mod properties;

use super::{Acceptability, acceptability};
use crate::fixture::{TWELVE, place};
use crate::profile::Profile;
use crate::weighting::Weightings;

/// Certain points of each product, ranked.
fn ranked(points: &[Vec<f64>], weights: &Weightings, threads: usize) -> Acceptability {
    let drawn: Vec<Vec<Vec<f64>>> =
        points.iter().map(|it| it.iter().map(|x| vec![*x]).collect()).collect();
    drawn_ranked(&drawn, weights, threads)
}

/// Products with finding draws of each subsystem, ranked.
fn drawn_ranked(drawn: &[Vec<Vec<f64>>], weights: &Weightings, threads: usize) -> Acceptability {
    let parts: Vec<Vec<Option<&[f64]>>> =
        drawn.iter().map(|it| it.iter().map(|x| Some(x.as_slice())).collect()).collect();
    let profiles: Vec<Profile<'_>> =
        (0..).zip(&parts).map(|(key, it)| Profile::new(it, key, None).unwrap()).collect();
    acceptability(&profiles, weights, threads).unwrap()
}

/// Points of the named of the twelve.
fn named(names: &str) -> Vec<Vec<f64>> {
    names.chars().map(|it| TWELVE[place(&it.to_string())].2.to_vec()).collect()
}

/// All weights in whole parts of `m`, as whole numbers.
fn lattice(n_parts: usize, m: usize) -> Vec<Vec<usize>> {
    if n_parts == 1 {
        return vec![vec![m]];
    }
    let rest = |first: usize| lattice(n_parts - 1, m - first).into_iter();
    (0..=m).flat_map(|first| rest(first).map(move |it| [vec![first], it].concat())).collect()
}

/// All weights in whole parts of `m`, the corners and edges among them.
fn parts_of(n_parts: usize, m: usize) -> Weightings {
    let share = |it: usize| it as f64 / m as f64;
    let rows: Vec<Vec<f64>> =
        lattice(n_parts, m).into_iter().map(|row| row.into_iter().map(share).collect()).collect();
    Weightings::from_rows(&rows).unwrap()
}

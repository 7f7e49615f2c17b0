//! Propagation of uncertainty against the GUM's own example, and what is refused.

use nalgebra::DMatrix;
use physics::PhysicsError;
use physics::uncertainty::{Term, combined, covariance_of_means, product, propagate};
use proptest::prelude::*;

use crate::edges::refused;
use crate::table::{number, table};
use crate::tolerance::{REL, near, within};

/// JCGM 100:2008, annex H.2: resistance, reactance and magnitude of an impedance from five sets of
/// voltage, current and phase that correlate. Beside each printed value (from memory), the digits of
/// numpy.
#[test]
fn chk_1_5_gum_h_2() {
    let rows = table(include_str!("../data/gum_h2.csv"));
    let column = |k: usize| -> Vec<f64> { rows.iter().map(|row| number(row[k])).collect() };
    let (v, i, phi) = (column(0), column(1), column(2));
    let i: Vec<f64> = i.into_iter().map(|ma| ma * 1e-3).collect();
    let inputs = covariance_of_means(&[&v, &i, &phi]).unwrap();
    let mean = |list: &[f64]| list.iter().sum::<f64>() / 5.0;
    let (v, i, phi) = (mean(&v), mean(&i), mean(&phi));
    // Table H.2: means, their uncertainties and correlations.
    for (k, (got, printed)) in [(v, 4.9990), (i, 19.6610e-3), (phi, 1.04446)].iter().enumerate() {
        near(*got, *printed, 1e-9);
        let u = inputs[(k, k)].sqrt();
        let (printed, digit) = [(0.0032, 1e-4), (0.0095e-3, 1e-7), (0.00075, 1e-5)][k];
        within(u, printed, digit / 2.0);
    }
    let correlation = |m: &DMatrix<f64>, a, b| m[(a, b)] / (m[(a, a)] * m[(b, b)]).sqrt();
    for (a, b, printed) in [(0, 1, -0.36), (0, 2, 0.86), (1, 2, -0.65)] {
        within(correlation(&inputs, a, b), printed, 0.005);
    }
    let (z, (sin, cos)) = (v / i, phi.sin_cos());
    let (r, x) = (z * cos, z * sin);
    let sensitivities = matrix(3, &[cos / i, -r / i, -x, sin / i, -x / i, r, 1.0 / i, -z / i, 0.0]);
    let outputs = propagate(&sensitivities, &inputs).unwrap();
    // Table H.3. The printed u(X), 0.295, is one less in its last digit than the data give.
    let rows = [
        (r, 127.732170, 127.732, 0.0710714, 0.071),
        (x, 219.846512, 219.847, 0.2955817, 0.295),
        (z, 254.259702, 254.260, 0.2363361, 0.236),
    ];
    for (k, (got, value, printed, u, printed_u)) in rows.into_iter().enumerate() {
        near(got, value, 1e-8);
        within(got, printed, 5e-4);
        let got_u = outputs[(k, k)].sqrt();
        near(got_u, u, REL);
        within(got_u, printed_u, 1e-3);
        let row: Vec<f64> = sensitivities.row(k).iter().copied().collect();
        near(combined(&row, &inputs).unwrap(), got_u, 1e-12);
    }
    let rows = [(0, 1, -0.588430, -0.588), (0, 2, -0.485259, -0.485), (1, 2, 0.992512, 0.993)];
    for (a, b, want, printed) in rows {
        within(correlation(&outputs, a, b), want, 1e-6);
        within(correlation(&outputs, a, b), printed, 5e-4);
    }
}

fn matrix(rows: usize, numbers: &[f64]) -> DMatrix<f64> {
    DMatrix::from_row_slice(rows, numbers.len() / rows, numbers)
}

fn term(value: f64, u: f64, power: f64) -> Term {
    Term { value, u, power }
}

#[test]
fn a_quotient_adds_relative_uncertainties_in_squares() {
    // 10 ± 0.3 over 2 ± 0.08: 3 % and 4 % make 5 %.
    let got = product(&[term(10.0, 0.3, 1.0), term(2.0, 0.08, -1.0)]).unwrap();
    near(got.value, 5.0, 1e-12);
    near(got.rel_u, 0.05, 1e-12);
    near(got.u, 0.25, 1e-12);
}

#[test]
fn the_sign_follows_the_power() {
    let odd = product(&[term(-2.0, 0.02, 3.0)]).unwrap();
    let even = product(&[term(-2.0, 0.02, -2.0)]).unwrap();
    within(odd.value, -8.0, 1e-12);
    within(even.value, 0.25, 1e-12);
    near(odd.u, 0.24, 1e-12);
    near(even.rel_u, 0.02, 1e-12);
}

#[test]
fn products_refuse_what_has_no_relative_uncertainty() {
    refused(product(&[]), "terms");
    let good = term(1.0, 0.1, 1.0);
    refused(product(&[good, term(0.0, 0.1, 1.0)]), "terms[1].value");
    refused(product(&[term(-2.0, 0.1, 0.5)]), "terms[0].power");
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        refused(product(&[term(bad, 0.1, 1.0)]), "terms[0].value");
        refused(product(&[term(1.0, bad, 1.0)]), "terms[0].u");
        refused(product(&[term(1.0, 0.1, bad)]), "terms[0].power");
    }
    refused(product(&[term(1.0, -0.1, 1.0)]), "terms[0].u");
    refused(product(&[term(1e200, 1.0, 2.0)]), "value");
    refused(product(&[term(1e-200, 0.0, 2.0)]), "value");
    refused(product(&[term(1e-200, 1e200, 1.0)]), "u");
}

#[track_caller]
fn contradicts<T: std::fmt::Debug>(result: Result<T, PhysicsError>, name: &str, part: &str) {
    match result {
        Err(PhysicsError::Inconsistent { field, relation, z: None }) => {
            assert_eq!(field, name);
            assert!(relation.contains(part), "{relation}");
        }
        other => panic!("not refused as inconsistent: {other:?}"),
    }
}

#[test]
fn a_matrix_that_is_no_covariance_is_refused() {
    let one = [1.0, 1.0];
    contradicts(combined(&one, &matrix(1, &[1.0])), "covariance", "2 x 2");
    contradicts(
        combined(&one, &matrix(2, &[1.0, 0.5, 0.4, 1.0])),
        "covariance[0][1]",
        "covariance[1][0] is 0.4",
    );
    contradicts(combined(&one, &matrix(2, &[1.0, 1.5, 1.5, 1.0])), "covariance[0][1]", "beyond ±1");
    contradicts(combined(&one, &matrix(2, &[0.0, 0.1, 0.1, 1.0])), "covariance[0][1]", "beyond ±1");
    // Pairwise possible, together not: three inputs cannot all oppose each other.
    let opposed = matrix(3, &[1.0, -0.9, -0.9, -0.9, 1.0, -0.9, -0.9, -0.9, 1.0]);
    contradicts(combined(&[1.0, 1.0, 1.0], &opposed), "covariance", "below 0");
    refused(combined(&[], &DMatrix::zeros(0, 0)), "sensitivities");
    refused(combined(&[f64::NAN], &matrix(1, &[1.0])), "sensitivities");
    refused(combined(&one, &matrix(2, &[-1.0, 0.0, 0.0, 1.0])), "covariance[0][0]");
    refused(combined(&one, &matrix(2, &[1.0, f64::NAN, 0.0, 1.0])), "covariance[0][1]");
    refused(combined(&[1e200], &matrix(1, &[1.0])), "variance");
}

#[test]
fn full_opposition_leaves_nothing() {
    within(combined(&[1.0, 1.0], &matrix(2, &[0.09, -0.09, -0.09, 0.09])).unwrap(), 0.0, 0.0);
}

#[test]
fn means_need_observations_side_by_side() {
    refused(covariance_of_means(&[]), "samples");
    refused(covariance_of_means(&[&[1.0]]), "samples");
    refused(covariance_of_means(&[&[1.0, 2.0], &[1.0, f64::NAN]]), "samples[1][1]");
    contradicts(covariance_of_means(&[&[1.0, 2.0], &[1.0]]), "samples[1]", "holds 1");
}

proptest! {
    /// Independent terms: the product's formula and the law with a diagonal matrix are the same.
    #[test]
    fn a_product_follows_the_general_law(
        terms in prop::collection::vec((0.1..10.0, 0.0..0.2, -3.0..3.0), 1..6),
    ) {
        let terms: Vec<Term> = terms.into_iter().map(|(x, rel, a)| term(x, x * rel, a)).collect();
        let got = product(&terms).unwrap();
        let slopes: Vec<f64> = terms.iter().map(|t| got.value * t.power / t.value).collect();
        let variances: Vec<f64> = terms.iter().map(|t| t.u * t.u).collect();
        let inputs = DMatrix::from_diagonal(&nalgebra::DVector::from_vec(variances));
        within(combined(&slopes, &inputs).unwrap(), got.u, 1e-12 * got.value);
        within(got.u, got.rel_u * got.value, 1e-12 * got.value);
    }

    /// Any set of observations gives a covariance that propagates.
    #[test]
    fn observed_covariances_are_accepted(
        samples in prop::collection::vec(prop::collection::vec(-1e3..1e3, 4), 1..4),
    ) {
        let lists: Vec<&[f64]> = samples.iter().map(Vec::as_slice).collect();
        let v = covariance_of_means(&lists).unwrap();
        let slopes: Vec<f64> = (1..=lists.len()).map(|k| 1.0 / k as f64).collect();
        prop_assert!(combined(&slopes, &v).unwrap() >= 0.0);
        // The mean of a weighted sum has the same uncertainty when each set is summed first.
        let sums: Vec<f64> = (0..4)
            .map(|k| lists.iter().zip(&slopes).map(|(list, c)| list[k] * c).sum())
            .collect();
        let direct = covariance_of_means(&[&sums]).unwrap()[(0, 0)].sqrt();
        within(combined(&slopes, &v).unwrap(), direct, 1e-9 * (1.0 + direct));
    }
}

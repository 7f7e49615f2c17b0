//! The least-squares driver against certified non-linear regressions: NIST Statistical Reference
//! Datasets, data and certified values in `tests/data/nist`, models from the same pages.
//!
//! The certified values carry eleven digits. Six must come out of both published starts: the far
//! one and the near one.

use std::f64::consts::PI;

use physics::fit::levenberg::{Residuals, minimize};

use crate::tolerance::near;

/// A data file: one line of certified values a parameter, and the data.
struct Certified<const P: usize> {
    starts: [[f64; P]; 2],
    values: [f64; P],
    deviations: [f64; P],
    rss: f64,
    degrees_of_freedom: String,
    data: Vec<(f64, f64)>,
}

impl<const P: usize> Certified<P> {
    fn read(text: &str) -> Self {
        let mut it = Self {
            starts: [[0.0; P]; 2],
            values: [0.0; P],
            deviations: [0.0; P],
            rss: 0.0,
            degrees_of_freedom: String::new(),
            data: Vec::new(),
        };
        let mut parameter = 0;
        for line in text.lines().filter(|line| !line.starts_with('#')) {
            let (kind, rest) = line.split_once(' ').expect("a kind and its numbers");
            let numbers: Vec<f64> =
                rest.split(' ').map(|it| it.parse().expect("a number")).collect();
            match (kind, numbers.as_slice()) {
                ("b", &[far, close, value, deviation]) => {
                    it.starts[0][parameter] = far;
                    it.starts[1][parameter] = close;
                    it.values[parameter] = value;
                    it.deviations[parameter] = deviation;
                    parameter += 1;
                }
                ("rss", &[rss, degrees_of_freedom]) => {
                    it.rss = rss;
                    it.degrees_of_freedom = degrees_of_freedom.to_string();
                }
                ("xy", &[x, y]) => it.data.push((x, y)),
                _ => panic!("not a line of a data file: {line}"),
            }
        }
        assert_eq!(parameter, P);
        it
    }
}

/// Data with a function that gives value and gradient.
struct Regression<'a, const P: usize> {
    data: &'a [(f64, f64)],
    model: fn(&[f64; P], f64) -> (f64, [f64; P]),
}

impl<const P: usize> Residuals<P> for Regression<'_, P> {
    fn count(&self) -> usize {
        self.data.len()
    }

    fn visit(&self, b: &[f64; P], mut row: impl FnMut(f64, &[f64; P])) {
        for &(x, y) in self.data {
            let (value, gradient) = (self.model)(b, x);
            row(value - y, &gradient);
        }
    }
}

fn reproduces<const P: usize>(text: &str, model: fn(&[f64; P], f64) -> (f64, [f64; P])) {
    let certified = Certified::<P>::read(text);
    for start in certified.starts {
        let problem = Regression { data: &certified.data, model };
        let found = minimize(&problem, start, [true; P]).expect("a minimum");
        for at in 0..P {
            near(found.x[at], certified.values[at], 1e-6);
            near(found.covariance[at][at].sqrt(), certified.deviations[at], 1e-6);
        }
        near(found.rss, certified.rss, 1e-9);
        assert_eq!(found.degrees_of_freedom.to_string(), certified.degrees_of_freedom);
    }
}

#[test]
fn chk_2_4_mgh09() {
    reproduces(include_str!("../data/nist/MGH09.dat"), |&[b1, b2, b3, b4], x| {
        let (over, under) = (x * x + x * b2, x * x + x * b3 + b4);
        let y = b1 * over / under;
        (y, [over / under, b1 * x / under, -y * x / under, -y / under])
    });
}

#[test]
fn chk_2_4_roszman1() {
    reproduces(include_str!("../data/nist/Roszman1.dat"), |&[b1, b2, b3, b4], x| {
        let (d, square) = (x - b4, b3 * b3 + (x - b4) * (x - b4));
        let y = b1 - b2 * x - (b3 / d).atan() / PI;
        (y, [1.0, -x, -d / (PI * square), -b3 / (PI * square)])
    });
}

#[test]
fn chk_2_4_thurber() {
    reproduces(include_str!("../data/nist/Thurber.dat"), |&[b1, b2, b3, b4, b5, b6, b7], x| {
        let under = 1.0 + x * (b5 + x * (b6 + x * b7));
        let y = (b1 + x * (b2 + x * (b3 + x * b4))) / under;
        let [x1, x2, x3] = [x, x * x, x * x * x].map(|it| it / under);
        (y, [1.0 / under, x1, x2, x3, -y * x1, -y * x2, -y * x3])
    });
}

#[test]
fn chk_2_4_eckerle4() {
    reproduces(include_str!("../data/nist/Eckerle4.dat"), |&[b1, b2, b3], x| {
        let t = (x - b3) / b2;
        let bell = (-0.5 * t * t).exp() / b2;
        let y = b1 * bell;
        (y, [bell, y * (t * t - 1.0) / b2, y * t / b2])
    });
}

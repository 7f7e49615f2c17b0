//! Do redundantly entered driver parameters agree, and which values fit them best.
//!
//! A data sheet and a bench give more numbers than a driver has freedoms, so they can contradict each
//! other. Each relation between them is tested against its uncertainty, all of them together by
//! chi-square, and the set that fits best stands beside the entered one; it never replaces it.
//!
//! Valid for independent entries with standard uncertainties below about 20 %, where the logarithm is
//! nearly straight. Values of one data sheet are not independent: they can show that the sheet agrees
//! with itself, not that it is right. Source: JCGM 100:2008 (the GUM), clause 5, and least squares
//! with constraints, JCGM 102:2011 (clauses from memory).

use std::f64::consts::TAU;

use nalgebra::DVector;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::air::Air;
use crate::error::{PhysicsError, Result, finite_result, non_negative, positive, positive_result};

/// A relation counts as following from the ones before it when they leave it less than this fraction
/// of its variance.
const DEPENDENT: f64 = 1e-12;

/// A driver parameter that the relations know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Key {
    /// Resonance in free air, Hz.
    Fs,
    /// Mechanical Q at fs.
    Qms,
    /// Electrical Q at fs.
    Qes,
    /// Total Q at fs.
    Qts,
    /// Equivalent volume, m³.
    Vas,
    /// Voice-coil resistance at direct current, ohm.
    Re,
    /// Force factor, T·m.
    Bl,
    /// Moving mass with its air load, kg.
    Mms,
    /// Compliance of the suspension, m/N.
    Cms,
    /// Mechanical resistance, kg/s.
    Rms,
    /// Effective cone area, m².
    Sd,
}

impl Key {
    /// Every key.
    pub const ALL: [Self; 11] = [
        Self::Fs,
        Self::Qms,
        Self::Qes,
        Self::Qts,
        Self::Vas,
        Self::Re,
        Self::Bl,
        Self::Mms,
        Self::Cms,
        Self::Rms,
        Self::Sd,
    ];

    /// The word for it in text.
    ///
    /// ```
    /// assert_eq!(physics::consistency::Key::Vas.word(), "vas");
    /// ```
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fs => "fs",
            Self::Qms => "qms",
            Self::Qes => "qes",
            Self::Qts => "qts",
            Self::Vas => "vas",
            Self::Re => "re",
            Self::Bl => "bl",
            Self::Mms => "mms",
            Self::Cms => "cms",
            Self::Rms => "rms",
            Self::Sd => "sd",
        }
    }
}

/// One entered value with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// Which parameter.
    pub key: Key,
    /// Its value, SI.
    pub value: f64,
    /// Its standard uncertainty as a fraction of the value.
    pub rel_u: f64,
}

/// A relation between the entries, and how well it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Relation {
    /// `r1` to `r5`, in the order of [`consistency`].
    pub id: &'static str,
    /// By how much it misses: 0 for values that agree. A logarithm for r1 to r4 (0.01 is 1 %), a
    /// difference of 1/Q for r5.
    pub residual: f64,
    /// The miss in standard uncertainties. Above 2 is worth a check, above 3 is a contradiction
    /// (editorial).
    pub z: f64,
    /// The parameters it ties together.
    pub keys: Vec<Key>,
    /// False when it follows, to rounding, from the relations before it; then it is in neither
    /// chi-square nor the adjustment.
    pub independent: bool,
}

/// The joint test and the reconciled set.
#[derive(Debug, Clone, PartialEq)]
pub struct Consistency {
    /// The relations all of whose members were entered.
    pub relations: Vec<Relation>,
    /// Chi-square of all independent relations together.
    pub chi2: f64,
    /// Number of independent relations.
    pub dof: usize,
    /// Chance of a chi-square at least as large if the entries are right within their uncertainties.
    pub p_value: f64,
    /// The values that satisfy the relations with the least change, in the order given, with the
    /// uncertainties left to them. Values in no relation stay as they are.
    pub adjusted: Vec<Entry>,
}

/// Tests redundant driver parameters against each other and reconciles them.
///
/// With y the logarithms of the values, S = diag(rel_u²) and a row of A for each relation:
/// - r1: ln fs + ½ ln Mms + ½ ln Cms + ln 2π
/// - r2: ln Vas − ln ρ₀c² − 2 ln Sd − ln Cms
/// - r3: ln Qes − ln 2π − ln fs − ln Mms − ln Re + 2 ln BL
/// - r4: ln Qms − ln 2π − ln fs − ln Mms + ln Rms
/// - r5: 1/Qts − 1/Qms − 1/Qes, straightened at the entries, in one step
///
/// Each is 0 for a set that agrees. z = r/√(A·S·Aᵀ) on the diagonal, χ² = rᵀ(A·S·Aᵀ)⁻¹r, adjusted
/// y' = y − S·Aᵀ(A·S·Aᵀ)⁻¹r with S' = S − S·Aᵀ(A·S·Aᵀ)⁻¹A·S. Relations with a member that was not
/// entered are absent.
///
/// # Errors
/// `OutOfDomain` with the place, as in `values.fs.rel_u`, when a value or uncertainty is not positive
/// and finite; `Inconsistent` when a key is given twice; `NotApplicable` when no relation has all its
/// members.
///
/// ```
/// use physics::{air::AIR20, consistency::{Entry, Key, consistency}};
/// let entry = |key, value, rel_u| Entry { key, value, rel_u };
/// let got = consistency(
///     &[entry(Key::Fs, 43.5, 0.01), entry(Key::Mms, 0.0142, 0.02), entry(Key::Cms, 0.00098, 0.04)],
///     &AIR20,
/// )?;
/// assert_eq!(got.dof, 1);
/// assert!((got.relations[0].z - 0.79209779).abs() < 1e-8);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn consistency(entries: &[Entry], air: &Air) -> Result<Consistency> {
    check(entries)?;
    let laws = laws(entries, air);
    if laws.is_empty() {
        return Err(PhysicsError::not_applicable(
            "no relation between driver parameters has all its members among the values given",
        ));
    }
    let mut relations = Vec::with_capacity(laws.len());
    let mut contrasts: Vec<Contrast> = Vec::with_capacity(laws.len());
    for law in laws {
        let z = finite_result("z", law.residual / positive_result("rel_u", law.u)?)?;
        let contrast = contrast(&law.unit, z, &contrasts);
        let independent = contrast.is_some();
        contrasts.extend(contrast);
        relations.push(Relation {
            id: law.id,
            residual: law.residual,
            z,
            keys: law.keys,
            independent,
        });
    }
    let chi2 = finite_result("chi2", contrasts.iter().map(|it| it.z * it.z).sum())?;
    let mut adjusted = Vec::with_capacity(entries.len());
    for (i, entry) in entries.iter().enumerate() {
        // Both in units of the entry's own uncertainty.
        let shift: f64 = contrasts.iter().map(|it| it.z * it.row[i]).sum();
        let explained: f64 = contrasts.iter().map(|it| it.row[i] * it.row[i]).sum();
        let word = entry.key.word();
        let value = entry.value * (-entry.rel_u * shift).exp();
        // Rounding alone can carry the explained share past the whole.
        let rel_u = entry.rel_u * (1.0 - finite_result("rel_u", explained)?).max(0.0).sqrt();
        adjusted.push(Entry {
            key: entry.key,
            value: positive_result(&format!("adjusted.{word}.value"), value)?,
            rel_u,
        });
    }
    let dof = contrasts.len();
    Ok(Consistency { relations, chi2, dof, p_value: chi_square_tail(chi2, dof)?, adjusted })
}

/// Chance that chi-square with `dof` degrees of freedom is at least `chi2`.
///
/// # Errors
/// `OutOfDomain` when `chi2` is negative or not finite, or `dof` is 0.
///
/// ```
/// // The 95 % point of 4 degrees of freedom, as printed in the tables: 9.488.
/// let p = physics::consistency::chi_square_tail(9.48772904, 4)?;
/// assert!((p - 0.05).abs() < 1e-9);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn chi_square_tail(chi2: f64, dof: usize) -> Result<f64> {
    let chi2 = non_negative("chi2", chi2)?;
    if chi2 < f64::MIN_POSITIVE {
        // Half of the least number is 0, which the incomplete gamma function does not take.
        return if dof == 0 { Err(no_freedom(dof)) } else { Ok(1.0) };
    }
    let freedom = u32::try_from(dof)
        .ok()
        .and_then(|dof| ChiSquared::new(f64::from(dof)).ok())
        .ok_or_else(|| no_freedom(dof))?;
    finite_result("p_value", freedom.sf(chi2))
}

fn no_freedom(dof: usize) -> PhysicsError {
    PhysicsError::out_of_domain("dof", format!("{dof} is not a count from 1 up"))
}

/// A relation at the entries.
struct Law {
    id: &'static str,
    keys: Vec<Key>,
    residual: f64,
    /// Standard uncertainty of the residual.
    u: f64,
    /// Its row of A times the entries' uncertainties, over `u`: a row of length 1.
    unit: DVector<f64>,
}

fn check(entries: &[Entry]) -> Result<()> {
    for (i, entry) in entries.iter().enumerate() {
        let word = entry.key.word();
        positive(&format!("values.{word}.value"), entry.value)?;
        positive(&format!("values.{word}.rel_u"), entry.rel_u)?;
        if entries.iter().take(i).any(|before| before.key == entry.key) {
            return Err(PhysicsError::inconsistent(format!("values.{word}"), "it is given twice"));
        }
    }
    Ok(())
}

/// The relations that the entries complete.
fn laws(entries: &[Entry], air: &Air) -> Vec<Law> {
    use Key::{Bl, Cms, Fs, Mms, Qes, Qms, Re, Rms, Sd, Vas};
    let turn = TAU.ln();
    let stiffness = air.bulk_modulus_pa().ln();
    let r1 = [(Fs, 1.0), (Mms, 0.5), (Cms, 0.5)];
    let r2 = [(Vas, 1.0), (Sd, -2.0), (Cms, -1.0)];
    let r3 = [(Qes, 1.0), (Fs, -1.0), (Mms, -1.0), (Re, -1.0), (Bl, 2.0)];
    let r4 = [(Qms, 1.0), (Fs, -1.0), (Mms, -1.0), (Rms, 1.0)];
    [
        law_of_powers("r1", entries, turn, &r1),
        law_of_powers("r2", entries, -stiffness, &r2),
        law_of_powers("r3", entries, -turn, &r3),
        law_of_powers("r4", entries, -turn, &r4),
        law_of_total_q(entries),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// constant + Σ power·ln value = 0.
fn law_of_powers(
    id: &'static str,
    entries: &[Entry],
    constant: f64,
    powers: &[(Key, f64)],
) -> Option<Law> {
    let mut residual = constant;
    for &(key, power) in powers {
        residual += power * value(entries, key)?.ln();
    }
    law(id, entries, residual, powers)
}

/// 1/Qts = 1/Qms + 1/Qes, with d(1/Q) = −(1/Q)·d ln Q.
fn law_of_total_q(entries: &[Entry]) -> Option<Law> {
    let [total, mechanical, electrical] =
        [value(entries, Key::Qts)?, value(entries, Key::Qms)?, value(entries, Key::Qes)?]
            .map(f64::recip);
    let row = [(Key::Qts, -total), (Key::Qms, mechanical), (Key::Qes, electrical)];
    law("r5", entries, total - mechanical - electrical, &row)
}

fn value(entries: &[Entry], key: Key) -> Option<f64> {
    entries.iter().find(|entry| entry.key == key).map(|entry| entry.value)
}

fn law(id: &'static str, entries: &[Entry], residual: f64, row: &[(Key, f64)]) -> Option<Law> {
    let mut unit = DVector::zeros(entries.len());
    let mut u = 0.0_f64;
    for &(key, slope) in row {
        let place = entries.iter().position(|entry| entry.key == key)?;
        unit[place] = slope * entries[place].rel_u;
        u = u.hypot(unit[place]);
    }
    unit /= u;
    Some(Law { id, keys: row.iter().map(|&(key, _)| key).collect(), residual, u, unit })
}

/// A direction in the space of entries (in units of their uncertainties) that the relations fix,
/// at right angles to the ones before it, and the miss along it.
struct Contrast {
    row: DVector<f64>,
    z: f64,
}

/// What a relation says beyond the earlier ones; nothing if it follows from them. Solving by these
/// is solving (A·S·Aᵀ) by its Cholesky factor, one row at a time.
fn contrast(unit: &DVector<f64>, z: f64, earlier: &[Contrast]) -> Option<Contrast> {
    let (mut row, mut z) = (unit.clone(), z);
    for one in earlier {
        let known = row.dot(&one.row);
        row.axpy(-known, &one.row, 1.0);
        z -= known * one.z;
    }
    let left = row.norm();
    (left * left > DEPENDENT).then(|| Contrast { row: row / left, z: z / left })
}

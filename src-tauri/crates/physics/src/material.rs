//! Panel materials: what to assume for stiffness, density and damping until something is measured.

/// A default with the range it may lie in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumed {
    /// The value to use.
    pub value: f64,
    /// Low end of the range met in practice.
    pub low: f64,
    /// High end of the range met in practice.
    pub high: f64,
}

const fn assumed(value: f64, low: f64, high: f64) -> Assumed {
    Assumed { value, low, high }
}

/// What a cabinet wall is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PanelMaterial {
    /// Medium density fibreboard. Wood Handbook FPL-GTR-190, 2010, chapter 12 (3.59 GPa, row from
    /// memory); EN 622-5 asks for at least 2.2 GPa at 12 to 19 mm (from memory).
    Mdf,
    /// Particle board. EN 312 type P2 asks for at least 1.6 GPa at 15 to 18 mm; Wood Handbook 2.76
    /// to 4.14 GPa (from memory).
    ParticleBoard,
    /// Plywood, as the mean of its two axes. Wood Handbook 6.96 to 8.55 GPa (from memory). It is
    /// orthotropic; √(Ex·Ey) stands in (common practice, no source), and so does the middle of the
    /// range of Poisson's ratio.
    Plywood,
    /// Moulded ABS or high-impact polystyrene: handbook ranges (common practice, no source).
    MouldedPlastic,
}

/// Bending properties to assume for a material. Loss factors are from memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelProperties {
    /// Modulus of elasticity in bending, Pa.
    pub e_pa: Assumed,
    /// Density, kg/m³.
    pub rho_kg_m3: Assumed,
    /// Poisson's ratio.
    pub nu: Assumed,
    /// Loss factor; the Q of a panel resonance is its inverse.
    pub loss_factor: Assumed,
}

impl PanelMaterial {
    /// Every material with defaults.
    pub const ALL: [Self; 4] =
        [Self::Mdf, Self::ParticleBoard, Self::Plywood, Self::MouldedPlastic];

    /// The defaults of this material.
    ///
    /// ```
    /// let mdf = physics::material::PanelMaterial::Mdf.properties();
    /// assert!((mdf.e_pa.value - 3.0e9).abs() < 1.0);
    /// ```
    #[must_use]
    pub const fn properties(self) -> PanelProperties {
        match self {
            Self::Mdf => PanelProperties {
                e_pa: assumed(3.0e9, 2.2e9, 4.0e9),
                rho_kg_m3: assumed(740.0, 650.0, 850.0),
                nu: assumed(0.25, 0.2, 0.3),
                loss_factor: assumed(0.02, 0.01, 0.03),
            },
            Self::ParticleBoard => PanelProperties {
                e_pa: assumed(2.4e9, 1.5e9, 3.5e9),
                rho_kg_m3: assumed(650.0, 600.0, 750.0),
                nu: assumed(0.25, 0.25, 0.25),
                loss_factor: assumed(0.02, 0.01, 0.03),
            },
            Self::Plywood => PanelProperties {
                e_pa: assumed(7.0e9, 5.0e9, 10.0e9),
                rho_kg_m3: assumed(620.0, 500.0, 700.0),
                nu: assumed(0.2, 0.1, 0.3),
                loss_factor: assumed(0.015, 0.01, 0.03),
            },
            Self::MouldedPlastic => PanelProperties {
                e_pa: assumed(2.2e9, 1.8e9, 2.6e9),
                rho_kg_m3: assumed(1050.0, 1050.0, 1050.0),
                nu: assumed(0.37, 0.37, 0.37),
                loss_factor: assumed(0.03, 0.02, 0.05),
            },
        }
    }
}

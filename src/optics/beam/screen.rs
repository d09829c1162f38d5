//! Grids before a front: what their cells let through, by direction.
//!
//! A straight cell of depth h hides the more of a far eye's view through it the more the eye is off
//! its axis. Seen at θ its two ends shift apart by h·tan θ; what is open is where they overlap.

use std::sync::Arc;

use super::{Beam, Table};

/// A grid, by the full angle at which it lets through a tenth of what it does on its axis
/// (common practice names grids by about that angle; no source).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Screen {
    /// Round (honeycomb) cells: overlap of two circles,
    /// T(x) = (2/π)(acos x − x√(1 − x²)), x = tan θ·h/d.
    Honeycomb {
        /// Radians.
        full_rad: f64,
    },
    /// Square cells, upright: overlap of two squares, T = (1 − |x|)(1 − |y|).
    Crate {
        /// Radians.
        full_rad: f64,
    },
}

impl Screen {
    /// Share of light toward angle θ from the axis and azimuth φ, radians, that passes.
    pub fn transmission(&self, theta: f64, phi: f64) -> f64 {
        match *self {
            Self::Honeycomb { full_rad } => {
                circles(theta.tan() / (0.5 * full_rad).tan() * TENTH_OF_CIRCLES)
            }
            Self::Crate { full_rad } => {
                // 1 − x is a tenth at x = 0.9
                let x = 0.9 * theta.tan() / (0.5 * full_rad).tan();
                let open = |share: f64| (1.0 - (x * share).abs()).max(0.0);
                open(phi.cos()) * open(phi.sin())
            }
        }
    }
}

/// Where two unit circles overlap by a tenth: the solution of T(x) = 0.1 (a test holds it).
const TENTH_OF_CIRCLES: f64 = 0.805_383_636_5;

/// Overlap of two equal circles whose centres are x diameters apart.
fn circles(x: f64) -> f64 {
    if x >= 1.0 {
        return 0.0;
    }
    std::f64::consts::FRAC_2_PI * (x.acos() - x * (1.0 - x * x).sqrt())
}

/// The beam behind a grid, relative to the beam's own axis.
pub fn screened(beam: &Beam, screen: Screen) -> Beam {
    let (rings, sectors) = match screen {
        Screen::Honeycomb { .. } => (1441, 1),
        Screen::Crate { .. } => (361, 72),
    };
    let through = |theta: f64, phi: f64| {
        beam.relative_intensity(theta.cos()) * screen.transmission(theta, phi)
    };
    Beam::Table(Arc::new(Table::new(rings, sectors, through)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grids_pass_a_tenth_at_their_angle_and_nothing_beyond_their_cells() {
        for full in [10.0f64, 20.0, 40.0, 60.0] {
            let full_rad = full.to_radians();
            for screen in [Screen::Honeycomb { full_rad }, Screen::Crate { full_rad }] {
                assert!((screen.transmission(0.0, 0.0) - 1.0).abs() < 1e-12);
                assert!((screen.transmission(0.5 * full_rad, 0.0) - 0.1).abs() < 1e-6);
                // cells close at tan θ = tan(half)/0.8054…
                assert_eq!(screen.transmission(((0.5 * full_rad).tan() * 1.25).atan(), 0.0), 0.0);
            }
        }
    }
}

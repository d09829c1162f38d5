//! Photometric files: the measured intensity of a luminaire over direction.
//!
//! In: the text of an IES LM-63 file (1986 to 2019) or of a EULUMDAT file. Out: [`Photometry`],
//! candela over direction, linear between the file's angles, with totals. Broken files give a
//! [`PhotometricError`] that names the line.
//!
//! Directions are in the frame of [`super::beam`]: z along the photometric axis (nadir of types A
//! and B turned to it), x in the plane C0, y in the plane C90.
//!
//! ```text
//!   type C   γ from z, C round it           polar axis along the beam
//!   type A   H round y, V up from there     polar axis upright
//!   type B   V round x, H out from there    polar axis level
//! ```

mod eulumdat;
mod lm63;
mod reader;

use std::f64::consts::{PI, TAU};

use glam::DVec3;
use thiserror::Error;

/// What is wrong with a file, and where.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("line {line}: {problem}")]
pub struct PhotometricError {
    /// Line of the file, from 1.
    pub line: usize,
    /// What is wrong there.
    pub problem: String,
}

/// Which way the angles of a file run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Goniometer {
    /// Horizontal and vertical angles about an upright axis.
    A,
    /// The same about a level axis.
    B,
    /// Polar angle from the axis and azimuth round it.
    C,
}

/// The luminous opening, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Opening {
    /// A point, or not stated.
    Point,
    /// Round.
    Round {
        /// Across.
        diameter_m: f64,
    },
    /// Rectangular.
    Rectangular {
        /// Along x (C0).
        width_m: f64,
        /// Along y (C90).
        height_m: f64,
    },
}

/// How much a tilted lamp gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Tilt {
    /// Degrees, growing.
    pub angles_deg: Vec<f64>,
    /// Factors on the candela.
    pub factors: Vec<f64>,
}

impl Tilt {
    /// Factor at a tilt of the luminaire, degrees; linear between.
    pub fn factor(&self, tilt_deg: f64) -> f64 {
        let (index, share) = between(&self.angles_deg, tilt_deg);
        let next = (index + 1).min(self.factors.len() - 1);
        self.factors[index] + share * (self.factors[next] - self.factors[index])
    }
}

/// A measured luminaire.
#[derive(Debug, Clone, PartialEq)]
pub struct Photometry {
    /// Way of its angles.
    pub goniometer: Goniometer,
    /// Vertical angles (γ of type C), degrees, growing.
    pub vertical_deg: Vec<f64>,
    /// Horizontal angles (C of type C), degrees, growing.
    pub horizontal_deg: Vec<f64>,
    /// Candela with all of the file's factors but tilt, horizontal angle by horizontal angle.
    pub candela: Vec<f64>,
    /// Lumens of its lamps; None for absolute photometry.
    pub lamp_lumens: Option<f64>,
    /// Electric power, watts; 0 where not stated.
    pub watts: f64,
    /// Its luminous opening.
    pub opening: Opening,
    /// Tilt table, where there is one.
    pub tilt: Option<Tilt>,
}

/// The most bytes a photometric file may have: many times what a half-degree grid takes.
pub const LARGEST_BYTES: u64 = 8 << 20;

/// Reads either kind of file; they tell themselves apart.
pub fn parse(text: &str) -> Result<Photometry, PhotometricError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let is_lm63 = text.lines().take(200).any(|line| {
        let line = line.trim_start();
        line.starts_with("TILT=") || line.starts_with("IESNA") || line.starts_with("IES:LM-63")
    });
    if is_lm63 { lm63::parse(text) } else { eulumdat::parse(text) }
}

/// Index of the knot at or below `x` and the share of the way to the next, held to the ends.
fn between(knots: &[f64], x: f64) -> (usize, f64) {
    let last = knots.len() - 1;
    if last == 0 || x <= knots[0] {
        return (0, 0.0);
    }
    let index = knots.partition_point(|k| *k <= x).saturating_sub(1).min(last - 1);
    (index, ((x - knots[index]) / (knots[index + 1] - knots[index])).clamp(0.0, 1.0))
}

impl Photometry {
    /// Candela toward a unit direction.
    pub fn toward(&self, direction: DVec3) -> f64 {
        let d = direction;
        let (vertical, horizontal) = match self.goniometer {
            Goniometer::C => {
                let gamma = d.x.hypot(d.y).atan2(d.z).to_degrees();
                (gamma, d.y.atan2(d.x).to_degrees().rem_euclid(360.0))
            }
            Goniometer::A => {
                (d.y.clamp(-1.0, 1.0).asin().to_degrees(), d.x.atan2(d.z).to_degrees())
            }
            Goniometer::B => {
                (d.y.atan2(d.z).to_degrees(), d.x.clamp(-1.0, 1.0).asin().to_degrees())
            }
        };
        self.at(vertical, horizontal)
    }

    /// Candela at a pair of angles in degrees; zero outside what was measured.
    pub fn at(&self, vertical_deg: f64, horizontal_deg: f64) -> f64 {
        let (first, last) = self.span();
        let mut h = horizontal_deg;
        let mut v = vertical_deg;
        if self.goniometer == Goniometer::C {
            h = self.folded(h.rem_euclid(360.0));
        } else {
            if first >= 0.0 {
                h = h.abs();
            }
            if self.vertical_deg[0] >= 0.0 {
                v = v.abs();
            }
            if h < first - 1e-9 || h > last + 1e-9 {
                return 0.0;
            }
        }
        let rows = &self.vertical_deg;
        if v < rows[0] - 1e-9 || v > rows[rows.len() - 1] + 1e-9 {
            return 0.0;
        }
        let (row, t) = between(rows, v);
        let next_row = (row + 1).min(rows.len() - 1);
        let plane = |index: usize| {
            let plane = self.plane(index);
            plane[row] + t * (plane[next_row] - plane[row])
        };
        let (index, s) = between(&self.horizontal_deg, h);
        let next = (index + 1).min(self.horizontal_deg.len() - 1);
        plane(index) + s * (plane(next) - plane(index))
    }

    fn plane(&self, index: usize) -> &[f64] {
        let rows = self.vertical_deg.len();
        &self.candela[index * rows..(index + 1) * rows]
    }

    fn span(&self) -> (f64, f64) {
        (self.horizontal_deg[0], self.horizontal_deg[self.horizontal_deg.len() - 1])
    }

    /// An azimuth (0 to 360) of type C brought by symmetry into what the file stores.
    fn folded(&self, c: f64) -> f64 {
        let (first, last) = self.span();
        let width = last - first;
        if width < 1e-9 {
            return first;
        }
        if width > 180.0 + 1e-9 {
            return c;
        }
        let half = |c: f64| if c > 180.0 { 360.0 - c } else { c };
        if width > 90.0 + 1e-9 {
            // mirrored about the plane through the first and the last angle
            return first + half((c - first).rem_euclid(360.0));
        }
        let c = half(c);
        if c > 90.0 { 180.0 - c } else { c }
    }

    /// Luminous flux over all directions, lm: the integral of what lies, linear, between the file's
    /// own angles; exact along the vertical angles of type C, by the same rule along the axis of
    /// types A and B.
    pub fn lumens(&self) -> f64 {
        let planes: Vec<f64> = (0..self.horizontal_deg.len())
            .map(|index| {
                let plane = self.plane(index);
                self.vertical_deg
                    .windows(2)
                    .zip(plane.windows(2))
                    .map(|(angles, values)| self.zone(angles, values))
                    .sum()
            })
            .collect();
        match self.goniometer {
            Goniometer::C => {
                let (first, last) = self.span();
                let width = last - first;
                if width < 1e-9 {
                    return TAU * planes[0];
                }
                let folds = if width > 180.0 + 1e-9 {
                    1.0
                } else if width > 90.0 + 1e-9 {
                    2.0
                } else {
                    4.0
                };
                folds * trapezia(&self.horizontal_deg, &planes)
            }
            Goniometer::A => {
                let (h, v) = self.mirrored();
                h * v * trapezia(&self.horizontal_deg, &planes)
            }
            Goniometer::B => {
                // cos H belongs to the other angle: exact for the line between two planes
                let (h, v) = self.mirrored();
                let strips = self.horizontal_deg.windows(2).zip(planes.windows(2));
                h * v * strips.map(|(angles, ends)| line_times_cosine(angles, ends)).sum::<f64>()
            }
        }
    }

    /// How often what is stored counts, across and upward, in types A and B.
    fn mirrored(&self) -> (f64, f64) {
        let twice = |first: f64| if first >= 0.0 { 2.0 } else { 1.0 };
        (twice(self.horizontal_deg[0]), twice(self.vertical_deg[0]))
    }

    /// ∫ of a straight piece over its vertical angles with the measure of the goniometer.
    fn zone(&self, degrees: &[f64], values: &[f64]) -> f64 {
        let (a, b) = (degrees[0].to_radians(), degrees[1].to_radians());
        match self.goniometer {
            Goniometer::C => {
                let slope = (values[1] - values[0]) / (b - a);
                values[0] * a.cos() - values[1] * b.cos() + slope * (b.sin() - a.sin())
            }
            Goniometer::A => line_times_cosine(degrees, values),
            Goniometer::B => 0.5 * (values[0] + values[1]) * (b - a),
        }
    }

    /// Largest candela.
    pub fn peak(&self) -> f64 {
        self.candela.iter().copied().fold(0.0, f64::max)
    }

    /// Full angle in degrees, across the plane C0–C180 (type C) or the level plane, at which the
    /// intensity falls to `share` of the file's peak, on either side outward from where it is
    /// highest before the luminaire. 0.5 is the beam angle, 0.1 the field angle. None where that
    /// plane never has so much.
    pub fn full_angle_deg(&self, share: f64) -> Option<f64> {
        let level = share * self.peak();
        let at = |theta: f64| self.toward(DVec3::new(theta.sin(), 0.0, theta.cos()));
        const STEPS: i32 = 3600;
        let theta = |k: i32| PI * f64::from(k) / f64::from(STEPS);
        let side = |sign: f64| {
            let value = |k: i32| at(sign * theta(k));
            let highest = (0..=STEPS / 2).max_by(|a, b| value(*a).total_cmp(&value(*b)))?;
            if value(highest) < level {
                return None;
            }
            let Some(fallen) = (highest..=STEPS).find(|k| value(*k) < level) else {
                return Some(PI);
            };
            let last = fallen - 1;
            let (mut inside, mut outside) = (theta(last), theta(last + 1));
            for _ in 0..40 {
                let middle = 0.5 * (inside + outside);
                if at(sign * middle) >= level { inside = middle } else { outside = middle }
            }
            Some(0.5 * (inside + outside))
        };
        Some((side(1.0)? + side(-1.0)?).to_degrees())
    }
}

/// ∫ of a line between two angles in degrees times their cosine.
fn line_times_cosine(degrees: &[f64], values: &[f64]) -> f64 {
    let (a, b) = (degrees[0].to_radians(), degrees[1].to_radians());
    let slope = (values[1] - values[0]) / (b - a);
    values[1] * b.sin() - values[0] * a.sin() + slope * (b.cos() - a.cos())
}

/// ∫ by trapezia over angles in degrees, per radian.
fn trapezia(degrees: &[f64], values: &[f64]) -> f64 {
    degrees
        .windows(2)
        .zip(values.windows(2))
        .map(|(x, y)| 0.5 * (y[0] + y[1]) * (x[1] - x[0]).to_radians())
        .sum()
}

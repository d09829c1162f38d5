//! What a modifier makes of a tube: fronts with beams and levels.
//!
//! In: a light of the plan and the frame of its mouth. Out: [`Fronts`], the emitting films at one
//! lumen-second from the tubes; `output` scales them to what the head gives. Whatever else the
//! modifier does to light (tunnels, recesses, doors, frames) is geometry in `fixture`.

mod level;
mod photometric;

use std::path::Path;

use glam::Vec3;

pub use level::scaled;
pub(super) use photometric::bytes as file_bytes;

use super::error::StageError;
use super::fixture::Front;
use super::source::{Glow, Source, SourceShape};
use crate::optics::beam::{Beam, Gate, Screen, screened};
use crate::optics::photometric::Tilt;
use crate::plan::{self, Modifier};

/// Light that a grid's walls take on its axis, in stops (assumption: thin walls, slightly tilted).
pub const GRID_LOSS_STOPS: f64 = 0.2;
/// Between the cloth of an umbrella and its films, metres.
pub const BESIDE_CLOTH_M: f32 = 0.004;
/// How deep an umbrella is for its diameter (common practice, no source).
pub const UMBRELLA_DEPTH: f64 = 0.24;
/// A point of a photometric file is drawn so wide, metres (a bare lamp; assumption).
const POINT_M: f64 = 0.06;

/// The emitting fronts of a light.
#[derive(Debug, Clone)]
pub struct Fronts {
    /// Middle of the mouth and its frame: where the plan puts the light.
    pub mouth: Front,
    /// The main film first.
    pub sources: Vec<Source>,
    /// Lumens from the tubes at which a photometric file's front gives what the file says, at this
    /// light's tilt.
    pub as_filed: Option<f64>,
}

/// Fronts of a light at 1 lm·s (or lm) from its tubes.
pub fn fronts(light: &plan::Light, mouth: Front, folder: &Path) -> Result<Fronts, StageError> {
    let place = |behind: f64| mouth.position - mouth.axis * behind as f32;
    let film = |shape, beam: Beam, glow, behind: f64, lumens: f64, on_axis: f64| Source {
        shape,
        position: place(behind),
        axis: mouth.axis,
        right: mouth.right,
        up: mouth.up,
        axial_intensity: lumens * on_axis,
        beam,
        glow,
    };
    let mut as_filed = None;
    let sources = match &light.modifier {
        Modifier::BareTube { diameter, length } => {
            let (radius_m, length_m) = (0.5 * diameter.metres, length.metres);
            vec![all_round(SourceShape::Tube { radius_m, length_m }, 1.0, &film)]
        }
        Modifier::Lantern { diameter, loss } => {
            let ball = SourceShape::Ball { radius_m: 0.5 * diameter.metres };
            vec![all_round(ball, (-loss).exp2(), &film)]
        }
        Modifier::Dish { diameter, beam, field, loss }
        | Modifier::ShortDish { diameter, beam, field, loss }
        | Modifier::LongThrow { diameter, beam, field, loss } => {
            let shape = SourceShape::Disc { radius_m: 0.5 * diameter.metres };
            open_front(light, shape, *beam, *field, *loss, &film)
        }
        Modifier::BeautyDish { diameter, deflector, beam, field, loss } => {
            let shape = ring(diameter.metres, deflector.metres);
            open_front(light, shape, *beam, *field, *loss, &film)
        }
        Modifier::Ring { diameter, hole, beam, field, loss } => {
            open_front(light, ring(diameter.metres, hole.metres), *beam, *field, *loss, &film)
        }
        Modifier::Snoot { diameter, length, loss } => {
            let shape = SourceShape::Disc { radius_m: 0.5 * diameter.metres };
            let beam = Beam::Cosine { exponent: 1.0 };
            let on_axis = 1.0 / beam.solid_angle();
            vec![film(shape, beam, None, length.metres, (-loss).exp2(), on_axis)]
        }
        Modifier::LensSpot { diameter, beam, focus, shutters, loss } => {
            let iris = (0.5 * beam.to_radians()).tan();
            let open = |low: f64, high: f64| [iris * (2.0 * low - 1.0), iris * (1.0 - 2.0 * high)];
            let gate = Gate {
                iris,
                across: open(shutters.left, shutters.right),
                upward: open(shutters.bottom, shutters.top),
                focus_m: focus.metres,
            };
            // shutters take light away; they do not crowd it
            let whole = Gate { across: [-iris, iris], upward: [-iris, iris], ..gate };
            let on_axis = 1.0 / whole.solid_angle();
            let shape = SourceShape::Disc { radius_m: 0.5 * diameter.metres };
            vec![film(shape, Beam::Gate(gate), None, 0.0, (-loss).exp2(), on_axis)]
        }
        Modifier::Panel { width, height, loss } => {
            let shape = rectangle(*width, *height);
            let (beam, on_axis) = gridded(light, Beam::Cosine { exponent: 1.0 }, true);
            vec![film(shape, beam, None, 0.0, (-loss).exp2(), on_axis)]
        }
        Modifier::SoftBox { width, height, recess, hot, beam, loss } => {
            let end = 0.5 * width.metres.max(height.metres);
            let (beam, on_axis) = gridded(light, cloth_beam(*beam), true);
            let shape = rectangle(*width, *height);
            vec![film(shape, beam, glow(*hot, end), recess.metres, (-loss).exp2(), on_axis)]
        }
        Modifier::Octagon { diameter, recess, hot, beam, loss } => {
            let radius_m = 0.5 * diameter.metres;
            let (beam, on_axis) = gridded(light, cloth_beam(*beam), true);
            let shape = SourceShape::Polygon { sides: 8, radius_m };
            vec![film(shape, beam, glow(*hot, radius_m), recess.metres, (-loss).exp2(), on_axis)]
        }
        Modifier::BounceUmbrella { diameter, hot, beam, loss } => {
            let radius_m = 0.5 * diameter.metres;
            let beam = cloth_beam(*beam);
            let on_axis = 1.0 / beam.solid_angle();
            let shape = SourceShape::Polygon { sides: 8, radius_m };
            vec![film(shape, beam, glow(*hot, radius_m), 0.0, (-loss).exp2(), on_axis)]
        }
        Modifier::ShootThrough { diameter, hot, beam, spill, loss } => {
            let radius_m = 0.5 * diameter.metres;
            let beam = cloth_beam(*beam);
            let on_axis = 1.0 / beam.solid_angle();
            let shape = SourceShape::Polygon { sides: 8, radius_m };
            let passed = (-loss).exp2();
            let glow = glow(*hot, radius_m);
            let front = film(shape, beam.clone(), glow, 0.0, passed * (1.0 - spill), on_axis);
            let behind = UMBRELLA_DEPTH * diameter.metres + 2.0 * f64::from(BESIDE_CLOTH_M);
            let back = film(shape, beam, glow, behind, passed * spill, on_axis);
            vec![front, turned_back(back)]
        }
        Modifier::Scrim { width, height, behind, transmission, beam, field, loss } => {
            let dish = dish_beam(*beam, *field);
            let head_cd = (-loss).exp2() / dish.solid_angle();
            let half = [0.5 * width.metres, 0.5 * height.metres];
            let lit = Lit::by(&dish, behind.metres, half);
            let lumens = head_cd * lit.solid_angle * transmission;
            let cloth = Beam::Cosine { exponent: 1.0 };
            let on_axis = 1.0 / cloth.solid_angle();
            let shape = rectangle(*width, *height);
            let front = film(shape, cloth, Some(lit.glow), 0.0, lumens, on_axis);
            let radius_m = 0.5 * HEAD_DISH_M;
            let head =
                film(SourceShape::Disc { radius_m }, dish, None, behind.metres, head_cd, 1.0);
            vec![front, head]
        }
        Modifier::Photometric { file, diameter, loss } => {
            let photometry = photometric::read(&light.name, file, folder)?;
            let tilt = photometry.tilt.as_ref().map_or(1.0, |table| tilt_factor(table, mouth.axis));
            let lumens = photometry.lumens();
            as_filed = Some(lumens * tilt * loss.exp2());
            let shape = photometric::shape(&photometry, diameter.map(|d| d.metres), POINT_M);
            photometric::films(&photometry)
                .into_iter()
                .map(|(front, beam, peak_cd)| {
                    let source = film(shape, beam, None, 0.0, (-loss).exp2(), peak_cd / lumens);
                    if front { source } else { turned_back(source) }
                })
                .collect()
        }
    };
    Ok(Fronts { mouth, sources, as_filed })
}

/// Mouth of the dish that a scrim's head wears, metres.
pub const HEAD_DISH_M: f64 = 0.18;

/// What makes a film of the light's mouth: shape, beam, glow, distance behind the mouth, lumens,
/// candela for each lumen where the beam is 1.
type FilmOf<'a> = &'a dyn Fn(SourceShape, Beam, Option<Glow>, f64, f64, f64) -> Source;

/// A body that is Lambertian all over: flux π·L·A, intensity across it L times what is seen of it.
fn all_round(shape: SourceShape, lumens: f64, film: FilmOf<'_>) -> Source {
    let seen = shape.all_round_m2().unwrap_or_default();
    let across = seen / (std::f64::consts::PI * shape.area_m2());
    film(shape, Beam::Cosine { exponent: 1.0 }, None, 0.0, lumens, across)
}

/// An open front of that shape: with its grid, the tube that shows in it, or cloth over it.
fn open_front(
    light: &plan::Light,
    shape: SourceShape,
    beam: f64,
    field: f64,
    loss: f64,
    film: FilmOf<'_>,
) -> Vec<Source> {
    if let Some(cloth) = &light.cloth {
        let [mouth_m, _] = shape.half_m();
        let radius_m = cloth.diameter.map_or(mouth_m, |d| 0.5 * d.metres);
        let (beam, on_axis) = gridded(light, cloth_beam(cloth.beam), false);
        let lumens = (-loss - cloth.loss).exp2();
        let shape = SourceShape::Disc { radius_m };
        return vec![film(shape, beam, glow(cloth.hot, radius_m), 0.0, lumens, on_axis)];
    }
    let (beam, on_axis) = gridded(light, dish_beam(beam, field), false);
    let lumens = (-loss).exp2();
    let Some(tube) = light.head.tube else {
        return vec![film(shape, beam, None, 0.0, lumens, on_axis)];
    };
    let dish = film(shape, beam.clone(), None, 0.0, lumens * (1.0 - tube.share), on_axis);
    let disc = SourceShape::Disc { radius_m: 0.5 * tube.diameter.metres };
    vec![dish, film(disc, beam, None, 0.0, lumens * tube.share, on_axis)]
}

/// The beam through the light's grid, if it has one, and candela on the axis for each lumen that
/// comes to the grid.
fn gridded(light: &plan::Light, beam: Beam, rectangular: bool) -> (Beam, f64) {
    let on_axis = 1.0 / beam.solid_angle();
    let Some(degrees) = light.grid else { return (beam, on_axis) };
    let full_rad = degrees.to_radians();
    let screen =
        if rectangular { Screen::Crate { full_rad } } else { Screen::Honeycomb { full_rad } };
    (screened(&beam, screen), on_axis * (-GRID_LOSS_STOPS).exp2())
}

fn dish_beam(beam: f64, field: f64) -> Beam {
    Beam::Dish { beam_rad: beam.to_radians(), field_rad: field.to_radians() }
}

/// cosⁿ that has half its peak at half of `full_deg`.
fn cloth_beam(full_deg: f64) -> Beam {
    Beam::Cosine { exponent: -1.0 / (0.5 * full_deg.to_radians()).cos().log2() }
}

fn ring(diameter_m: f64, hole_m: f64) -> SourceShape {
    SourceShape::Ring { radius_m: 0.5 * diameter_m, hole_m: 0.5 * hole_m }
}

fn rectangle(width: plan::Length, height: plan::Length) -> SourceShape {
    SourceShape::Rectangle { width_m: width.metres, height_m: height.metres }
}

/// A glow that falls by `hot` stops from the middle to `end_m` from it:
/// (1 + r²/h²)^−2 = 2^−hot.
fn glow(hot: f64, end_m: f64) -> Option<Glow> {
    (hot > 0.0).then(|| Glow { behind_m: end_m / ((0.5 * hot).exp2() - 1.0).sqrt(), power: 2.0 })
}

/// The same front looking the other way.
fn turned_back(source: Source) -> Source {
    Source { axis: -source.axis, right: -source.right, ..source }
}

/// Cloth in a frame lit by a head behind it.
struct Lit {
    /// Flux on the cloth for each candela on the head's axis, sr.
    solid_angle: f64,
    glow: Glow,
}

impl Lit {
    /// Illuminance at r from the middle is I(θ)·cos³θ/h², tan θ = r/h. The glow keeps the
    /// middle's and that half way to the corner.
    fn by(beam: &Beam, behind_m: f64, half: [f64; 2]) -> Self {
        let share = |r: f64| {
            let cos = behind_m / behind_m.hypot(r);
            beam.relative_intensity(cos) * cos.powi(3)
        };
        const SIDE: u32 = 200;
        let cell = |k: u32, half: f64| (f64::from(k) + 0.5) / f64::from(SIDE) * half;
        let mut sum = 0.0;
        for i in 0..SIDE {
            for j in 0..SIDE {
                sum += share(cell(i, half[0]).hypot(cell(j, half[1])));
            }
        }
        let area = 4.0 * half[0] * half[1];
        let solid_angle = sum / f64::from(SIDE * SIDE) * area / (behind_m * behind_m);
        let r = 0.5 * half[0].hypot(half[1]);
        let power = -share(r).max(1e-6).ln() / (1.0 + (r / behind_m).powi(2)).ln();
        Self { solid_angle, glow: Glow { behind_m, power } }
    }
}

/// A lamp's tilt is that of its luminaire from hanging straight down.
fn tilt_factor(table: &Tilt, axis: Vec3) -> f64 {
    let degrees = f64::from(axis.dot(Vec3::NEG_Y).clamp(-1.0, 1.0)).acos().to_degrees();
    table.factor(degrees)
}

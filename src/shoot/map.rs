//! A map of stops over the whole picture, from layers: no ray is traced for it but theirs.

use super::ShootError;
use super::gains;
use super::options::{MeterPoint, Progress, StillOptions};
use super::output::Output;
use super::still::layers;
use crate::layers::Layers;
use crate::optics::color::luminance_f64;
use crate::picture::{self, Picture, Still, encode, map};
use crate::plan::Plan;
use crate::stage::{self, Stage};

/// The tone that stops are counted from.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum MapZero {
    /// 18 % grey.
    #[default]
    Grey,
    /// White paper under the metered exposure.
    Paper,
    /// The tone that a place has in the picture.
    At(MeterPoint),
}

/// A place's tone is the mean over a disc of this share of the picture's height.
const SPOT_SHARE: f32 = 0.01;
/// What lies so far before a place hides it, metres.
const HIDES_M: f32 = 0.1;

/// Renders the layers and writes their map.
pub fn stops_map(
    plan: &Plan,
    options: &StillOptions,
    zero: &MapZero,
    output: &Output,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<(), ShootError> {
    let stage = stage::build(plan)?;
    // a place out of frame is refused before the work
    let aspect = options.size.map(|(w, h)| f64::from(w) / f64::from(h));
    film_of(&stage, aspect, zero)?;
    let layers = layers(plan, &stage, options, progress)?;
    let still = map_of(plan, &stage, &layers, zero)?;
    output.write(&encode(&still, output.format)?)?;
    Ok(())
}

/// The map of layers that are there already: change a power and call it again.
pub fn map_of(
    plan: &Plan,
    stage: &Stage,
    layers: &Layers,
    zero: &MapZero,
) -> Result<Still, ShootError> {
    let names: Vec<String> = layers.layers.iter().map(|layer| layer.name.clone()).collect();
    let picture = gains::mix(plan, stage, &names).apply(layers)?;
    let zero = tone(stage, layers, &picture, zero)?;
    Ok(picture::map::stops(&picture, &zero))
}

/// Where a place falls on the frame (0 to 1 from the top left), its distance along the axis, and
/// its name.
fn film_of(
    stage: &Stage,
    aspect: Option<f64>,
    zero: &MapZero,
) -> Result<Option<(glam::Vec2, f32, String)>, ShootError> {
    let MapZero::At(at) = zero else { return Ok(None) };
    let (point, name) = match at {
        MeterPoint::Mark(name) => {
            let Some(mark) = stage.marks.iter().find(|mark| mark.name == *name) else {
                let known = stage.marks.iter().map(|mark| mark.name.clone()).collect();
                return Err(ShootError::NoMark { name: name.clone(), known });
            };
            (mark.position, name.clone())
        }
        MeterPoint::Point([x, y, z]) => {
            let name = format!("({x:.2}, {y:.2}, {z:.2}) m");
            (glam::Vec3::new(*x as f32, *y as f32, *z as f32), name)
        }
    };
    let camera = match aspect {
        Some(aspect) => stage.camera.cropped_to(aspect),
        None => stage.camera,
    };
    let inside = |film: glam::Vec2| film.min_element() >= 0.0 && film.max_element() < 1.0;
    match camera.project(point).filter(|(film, _)| inside(*film)) {
        Some((film, depth)) => Ok(Some((film, depth, name))),
        None => Err(ShootError::OutOfFrame { place: name }),
    }
}

/// The chosen tone's value.
fn tone(
    stage: &Stage,
    layers: &Layers,
    picture: &Picture,
    zero: &MapZero,
) -> Result<map::Zero, ShootError> {
    let (width, height) = (picture.width, picture.height);
    let aspect = f64::from(width) / f64::from(height);
    let Some((film, depth, name)) = film_of(stage, Some(aspect), zero)? else {
        return Ok(if *zero == MapZero::Paper { map::Zero::paper() } else { map::Zero::grey() });
    };
    let centre = film * glam::Vec2::new(width as f32, height as f32);
    let radius = (SPOT_SHARE * height as f32).max(1.5);
    let (mut sum, mut count, mut hidden) = (0.0, 0u32, 0u32);
    for (index, pixel) in picture.pixels.iter().enumerate() {
        let (x, y) = (index as u32 % width, index as u32 / width);
        let at = glam::Vec2::new(x as f32 + 0.5, y as f32 + 0.5);
        if at.distance(centre) <= radius {
            sum += luminance_f64(pixel.as_dvec3());
            count += 1;
            hidden += u32::from(layers.depth[index] < depth - HIDES_M);
        }
    }
    if hidden * 2 > count {
        return Err(ShootError::Hidden { place: name });
    }
    if sum <= 0.0 {
        return Err(ShootError::Unlit { light: "any light".into(), place: name });
    }
    Ok(map::Zero { name, linear: sum / f64::from(count.max(1)) })
}

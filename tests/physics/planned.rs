//! Lights from plans, alone in a large black room, and what the tracer's meter sees of them.

use std::path::Path;

use foreshadow::plan::{self, Folder, Plan};
use foreshadow::stage::{self, Light, Stage};
use foreshadow::trace::{Receptor, Tracer};
use glam::Vec3;

use crate::set::y;

/// Where the light is: the middle of a black hall 60 m long.
pub const AT: Vec3 = Vec3::new(0.0, 15.0, 0.0);

/// A plan of one light with these fields in the hall, aimed along +z.
pub fn plan(fields: &str) -> Plan {
    let text = format!(
        "(format: 1, room: (width: 60, depth: 60, height: 30, mark: (from_left: 30, from_back: 30), \
         walls: (reflectance: 0), ceiling: (reflectance: 0), floor: (reflectance: 0)), \
         camera: (place: At(x: 5, y: 15, z: 5), aim: Point(x: 0, y: 15, z: 5)), \
         lights: [(name: \"key\", place: At(x: 0, y: 15, z: 0), aim: Toward(azimuth: 0, tilt: 0), {fields})])"
    );
    plan::parse(&text, "test").unwrap_or_else(|error| panic!("{fields}: {error}"))
}

/// Its stage; files are looked for in `folder`.
pub fn built_in(fields: &str, folder: &Path) -> Stage {
    let mut plan = plan(fields);
    plan.folder = Folder(folder.to_owned());
    stage::build(&plan).unwrap_or_else(|error| panic!("{fields}: {error}"))
}

/// Its stage.
pub fn built(fields: &str) -> Stage {
    built_in(fields, Path::new(""))
}

/// Its only light.
pub fn light(stage: &Stage) -> &Light {
    &stage.lights[0]
}

/// A stage made ready, to measure its light far off.
pub struct Range {
    tracer: Tracer,
    light: Light,
}

/// How far off intensities are measured, metres.
pub const FAR_M: f32 = 14.0;

impl Range {
    pub fn new(stage: &Stage) -> Self {
        Self { tracer: Tracer::new(stage, |_| true), light: stage.lights[0].clone() }
    }

    /// Intensity toward `degrees` from the axis and `azimuth` degrees round it (0 to the right,
    /// 90 up), from what a flat meter gets straight from the light 14 m off.
    pub fn intensity(&self, degrees: f64, azimuth: f64) -> f64 {
        let source = &self.light.source;
        let (theta, phi) = (degrees.to_radians() as f32, azimuth.to_radians() as f32);
        let out = (source.right * phi.cos() + source.up * phi.sin()) * theta.sin()
            + source.axis * theta.cos();
        let got = self.tracer.meter(AT + out * FAR_M, -out, Receptor::Flat, 8, 1)[0];
        let level = y(got.direct);
        // what is a thousandth of the beam may be as noisy as it likes
        let dark = 1e-3 * self.light.source.axial_intensity / f64::from(FAR_M * FAR_M);
        assert!(got.standard_error < 0.004 * level + dark, "noise at {degrees}°: {got:?}");
        level * f64::from(FAR_M * FAR_M)
    }
}

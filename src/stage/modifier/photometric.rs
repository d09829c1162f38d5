//! A photometric file as fronts: one for each hemisphere that has light.

use std::io::Read;
use std::path::Path;
use std::sync::Arc;

use glam::DVec3;

use crate::optics::beam::{Beam, Table};
use crate::optics::photometric::{self, LARGEST_BYTES, Opening, Photometry};
use crate::stage::error::{Part, StageError};
use crate::stage::source::SourceShape;

/// Rings and sectors of the tables: a quarter of a degree by two and a half.
const RINGS: usize = 361;
const SECTORS: usize = 144;

/// Reads the file that a light names.
pub fn read(light: &str, file: &str, folder: &Path) -> Result<Photometry, StageError> {
    let fault = |problem: String, remedy: &str| StageError::File {
        owner: Part::Light(light.into()),
        field: "modifier.file",
        file: file.into(),
        problem,
        remedy: remedy.into(),
    };
    let bytes = bytes(&folder.join(file), LARGEST_BYTES).map_err(|problem| {
        fault(problem, "name a photometric file (.ies or .ldt) in the plan's folder")
    })?;
    // old files are in old encodings; only their labels are beyond ASCII
    let text = String::from_utf8_lossy(&bytes);
    let photometry = photometric::parse(&text).map_err(|error| {
        fault(error.to_string(), "mend that line, or take the file from its maker again")
    })?;
    if photometry.lumens() > 0.0 {
        return Ok(photometry);
    }
    Err(fault("every intensity in it is 0".into(), "take the file from its maker again"))
}

/// A regular file of at most `largest` bytes.
pub fn bytes(path: &Path, largest: u64) -> Result<Vec<u8>, String> {
    let kind = std::fs::metadata(path).map_err(|error| super::super::error::io_told(&error))?;
    if !kind.is_file() {
        return Err("this is not a regular file".into());
    }
    let mut bytes = Vec::new();
    let read = std::fs::File::open(path)
        .and_then(|file| file.take(largest + 1).read_to_end(&mut bytes))
        .map_err(|error| super::super::error::io_told(&error))?;
    if read as u64 > largest {
        return Err(format!("the file has more than {} MB", largest >> 20));
    }
    Ok(bytes)
}

/// The opening: as the plan says, else as the file does, else `point_m` wide.
pub fn shape(photometry: &Photometry, diameter_m: Option<f64>, point_m: f64) -> SourceShape {
    let round = |diameter: f64| SourceShape::Disc { radius_m: 0.5 * diameter.clamp(0.005, 10.0) };
    match (diameter_m, photometry.opening) {
        (Some(diameter), _) | (None, Opening::Round { diameter_m: diameter }) => round(diameter),
        (None, Opening::Rectangular { width_m, height_m }) => SourceShape::Rectangle {
            width_m: width_m.clamp(0.005, 10.0),
            height_m: height_m.clamp(0.005, 10.0),
        },
        (None, Opening::Point) => round(point_m),
    }
}

/// Beams toward the front (true) and the back, each with its peak in candela; only those with
/// light. The back's frame is that of the front turned about the upright axis.
pub fn films(photometry: &Photometry) -> Vec<(bool, Beam, f64)> {
    let round =
        photometry.horizontal_deg.len() == 1 && photometry.goniometer == photometric::Goniometer::C;
    let sectors = if round { 1 } else { SECTORS };
    [true, false]
        .into_iter()
        .filter_map(|front| {
            let candela = |theta: f64, phi: f64| {
                let (x, y, z) = (theta.sin() * phi.cos(), theta.sin() * phi.sin(), theta.cos());
                let turn = if front { 1.0 } else { -1.0 };
                photometry.toward(DVec3::new(turn * x, y, turn * z))
            };
            let peak = Table::new(RINGS, sectors, candela).peak();
            let dark = peak <= 1e-6 * photometry.peak();
            (!dark).then(|| {
                let table = Table::new(RINGS, sectors, |theta, phi| candela(theta, phi) / peak);
                (front, Beam::Table(Arc::new(table)), peak)
            })
        })
        .collect()
}

//! EULUMDAT: one value a line, candela per 1000 lm of the lamps.
//!
//! Layout as in Stockmar's description of 1990 (lines 1 to 26, lamp sets, ten room ratios, angles,
//! intensities of the planes that the symmetry leaves).

use super::reader::{fault, growing, not_negative, number, shown, whole};
use super::{Goniometer, Opening, PhotometricError, Photometry};

/// Lines of the file as fields.
struct Fields<'a> {
    lines: Vec<&'a str>,
    next: usize,
}

impl Fields<'_> {
    fn skip(&mut self, count: usize) -> Result<(), PhotometricError> {
        self.next += count;
        if self.next > self.lines.len() {
            return fault(self.lines.len().max(1), "the file ends too early");
        }
        Ok(())
    }

    fn line(&self) -> usize {
        self.next.max(1)
    }

    fn number(&mut self, what: &str) -> Result<f64, PhotometricError> {
        let Some(line) = self.lines.get(self.next) else {
            return fault(self.lines.len().max(1), format!("the file ends before {what}"));
        };
        self.next += 1;
        let word = line.trim().trim_end_matches('\u{1a}');
        if word.is_empty() {
            return fault(self.next, format!("the line is empty; it must hold {what}"));
        }
        number(self.next, word, what)
    }

    fn whole(&mut self, what: &str, low: i64, high: i64) -> Result<i64, PhotometricError> {
        let value = self.number(what)?;
        whole(self.next, value, what, low, high)
    }

    fn list(&mut self, count: usize, what: &str) -> Result<Vec<f64>, PhotometricError> {
        let mut list = Vec::new();
        for n in 0..count {
            list.push(self.number(&format!("{what} {} of {count}", n + 1))?);
        }
        Ok(list)
    }
}

pub(super) fn parse(text: &str) -> Result<Photometry, PhotometricError> {
    let mut fields = Fields { lines: text.lines().collect(), next: 0 };
    fields.skip(1)?; // maker
    let kind_line = fields.lines.get(1).copied().unwrap_or_default();
    if kind_line.trim().parse::<f64>().is_err() {
        return fault(
            2,
            format!(
                "`{}` is no EULUMDAT type (0 to 3), and no line begins with TILT= as in LM-63: \
                 this is neither kind of photometric file",
                shown(kind_line.trim())
            ),
        );
    }
    fields.whole("the type of luminaire", 0, 3)?;
    let symmetry = fields.whole("the symmetry", 0, 4)?;
    let planes = fields.whole("the number of C planes", 1, 721)? as usize;
    fields.number("the distance between C planes")?;
    let rows = fields.whole("the number of angles in a plane", 2, 721)? as usize;
    fields.number("the distance between angles in a plane")?;
    fields.skip(5)?; // report, name, number, file, date
    fields.skip(3)?; // size of the housing
    let length_m = fields.number("the length of the luminous area")? * 1e-3;
    let width_m = fields.number("the width of the luminous area")? * 1e-3;
    fields.skip(4)?; // its heights
    fields.number("the downward share of flux")?;
    fields.number("the light output ratio")?;
    let conversion = fields.number("the conversion factor")?;
    not_negative(fields.line(), conversion, "the conversion factor")?;
    fields.number("the tilt when measured")?;
    let sets = fields.whole("the number of lamp sets", 1, 20)? as usize;
    let (mut lumens, mut watts, mut absolute) = (0.0, 0.0, false);
    for _ in 0..sets {
        // a count below zero marks absolute photometry: the lumens are the luminaire's own
        absolute |= fields.whole("the number of lamps", -1000, 1000)? < 0;
        fields.skip(1)?; // type
        let flux = fields.number("the lamps' flux")?;
        lumens += not_negative(fields.line(), flux, "the lamps' flux")?;
        fields.skip(2)?; // colour, colour rendering
        watts += fields.number("the watts of the lamps")?;
    }
    fields.list(10, "room ratio")?;
    let all_planes = fields.list(planes, "C angle")?;
    growing(fields.line(), &all_planes, "C angles")?;
    let vertical_deg = fields.list(rows, "angle in a plane")?;
    growing(fields.line(), &vertical_deg, "angles in a plane")?;
    if vertical_deg[0] < 0.0 || vertical_deg[rows - 1] > 180.0 {
        return fault(fields.line(), "angles in a plane must lie from 0 to 180 degrees");
    }
    let mut horizontal_deg = stored_planes(fields.line(), symmetry, &all_planes)?;
    let scale = conversion * lumens / 1000.0;
    let mut candela = Vec::new();
    for plane in 0..horizontal_deg.len() {
        for row in 0..rows {
            let what = format!("intensity {} of plane {}", row + 1, plane + 1);
            let value = fields.number(&what)?;
            candela.push(not_negative(fields.line(), value, &what)? * scale);
        }
    }
    if symmetry == 0 && horizontal_deg[horizontal_deg.len() - 1] < 360.0 {
        horizontal_deg.push(360.0);
        candela.extend_from_within(..rows);
    }
    Ok(Photometry {
        goniometer: Goniometer::C,
        vertical_deg,
        horizontal_deg,
        candela,
        lamp_lumens: (!absolute).then_some(lumens),
        watts,
        opening: opening(length_m, width_m),
        tilt: None,
    })
}

/// Angles of the planes that are stored. Symmetry about C90–C270 stores C270 over C0 to C90,
/// told here as −90 to 90.
fn stored_planes(line: usize, symmetry: i64, all: &[f64]) -> Result<Vec<f64>, PhotometricError> {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    if symmetry != 1 && !near(all[0], 0.0) {
        return fault(line, format!("the first C angle is {}; it must be 0", all[0]));
    }
    let count = all.len();
    let upto = |last: f64, stored: Vec<f64>| {
        let end = stored.last().copied().unwrap_or_default();
        if near(end, last) {
            return Ok(stored);
        }
        fault(
            line,
            format!("this symmetry stores C planes up to {last}°, the file's end at {end}°"),
        )
    };
    match symmetry {
        0 if count < 2 || all[count - 1] > 360.0 || all[count - 1] <= 180.0 => {
            fault(line, "a luminaire without symmetry needs C planes all round, 0 to 360 degrees")
        }
        0 => Ok(all.to_vec()),
        1 => Ok(vec![0.0]),
        2 => upto(180.0, all[..(count / 2 + 1).min(count)].to_vec()),
        3 => {
            let stored: Vec<f64> = all
                .iter()
                .filter(|c| **c >= 270.0 - 1e-6 && **c < 360.0 - 1e-6)
                .map(|c| c - 360.0)
                .chain(all.iter().copied().filter(|c| *c <= 90.0 + 1e-6))
                .collect();
            if !near(stored[0], -90.0) {
                return fault(line, "this symmetry needs C planes at 90° and 270°");
            }
            upto(90.0, stored)
        }
        _ => upto(90.0, all[..(count / 4 + 1).min(count)].to_vec()),
    }
}

/// A luminaire's length lies along C90, its width along C0; no width is round.
fn opening(length_m: f64, width_m: f64) -> Opening {
    match (length_m > 0.0, width_m > 0.0) {
        (true, true) => Opening::Rectangular { width_m, height_m: length_m },
        (true, false) => Opening::Round { diameter_m: length_m },
        _ => Opening::Point,
    }
}

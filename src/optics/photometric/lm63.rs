//! IES LM-63: 1986 (no header), 1991 (`IESNA91`), 1995 and 2002 (`IESNA:LM-63-…`), 2019
//! (`IES:LM-63-2019`).
//!
//! ```text
//!   header and [KEYWORD] lines
//!   TILT=NONE | TILT=INCLUDE, geometry, count, angles, factors
//!   lamps lumens multiplier verticals horizontals type units width length height
//!   ballast-factor (lamp factor | future use | generation) watts
//!   vertical angles, horizontal angles, candela plane by plane
//! ```
//! The fields as in ANSI/IES LM-63; from memory of the standard and from published files.

use super::reader::{Words, fault, growing, not_negative, shown};
use super::{Goniometer, Opening, PhotometricError, Photometry, Tilt};

const FOOT_M: f64 = 0.3048;

pub(super) fn parse(text: &str) -> Result<Photometry, PhotometricError> {
    let mut lines = text.lines().enumerate().map(|(index, line)| (index + 1, line));
    let mut header = None;
    let mut found = None;
    for (number, line) in lines.by_ref() {
        header.get_or_insert_with(|| line.trim().to_owned());
        if let Some(tilt) = line.trim().strip_prefix("TILT=") {
            found = Some((number, tilt.trim().to_owned()));
            break;
        }
    }
    let Some((tilt_line, tilt_word)) = found else {
        let last = text.lines().count().max(1);
        return fault(last, "there is no line that begins with TILT=");
    };
    let header = header.unwrap_or_default();
    let mut words = Words::new(lines);
    let tilt = match tilt_word.as_str() {
        "NONE" => None,
        "INCLUDE" => Some(tilt_table(&mut words)?),
        other => {
            return fault(
                tilt_line,
                format!(
                    "TILT={} names another file; write TILT=NONE or INCLUDE the table",
                    shown(other)
                ),
            );
        }
    };
    let lamps = words.whole("the number of lamps", 0, 10_000)?;
    let lumens = words.number("the lumens of a lamp")?;
    let multiplier = words.number("the candela multiplier")?;
    not_negative(words.line(), multiplier, "the candela multiplier")?;
    let verticals = words.whole("the number of vertical angles", 2, 20_000)? as usize;
    let horizontals = words.whole("the number of horizontal angles", 1, 20_000)? as usize;
    let goniometer = match words.whole("the photometric type", 1, 3)? {
        1 => Goniometer::C,
        2 => Goniometer::B,
        _ => Goniometer::A,
    };
    let unit_m = if words.whole("the unit of length", 1, 2)? == 1 { FOOT_M } else { 1.0 };
    let width_m = words.number("the width of the opening")? * unit_m;
    let length_m = words.number("the length of the opening")? * unit_m;
    let _height = words.number("the height of the opening")?;
    let ballast = words.number("the ballast factor")?;
    not_negative(words.line(), ballast, "the ballast factor")?;
    // the twelfth number is a factor in the two oldest editions only
    let twelfth = words.number("the number after the ballast factor")?;
    let is_old = !(header.starts_with("IESNA:") || header.starts_with("IES:"));
    let lamp_factor =
        if is_old { not_negative(words.line(), twelfth, "the lamp factor")? } else { 1.0 };
    let watts = words.number("the input watts")?;

    let vertical_deg = words.list(verticals, "vertical angle")?;
    growing(words.line(), &vertical_deg, "vertical angles")?;
    let (lowest, highest) = match goniometer {
        Goniometer::C => (0.0, 180.0),
        _ => (-90.0, 90.0),
    };
    if vertical_deg[0] < lowest || vertical_deg[verticals - 1] > highest {
        return fault(
            words.line(),
            format!("vertical angles must lie from {lowest} to {highest} degrees"),
        );
    }
    let mut horizontal_deg = words.list(horizontals, "horizontal angle")?;
    growing(words.line(), &horizontal_deg, "horizontal angles")?;
    check_horizontals(words.line(), goniometer, &horizontal_deg)?;
    let scale = multiplier * ballast * lamp_factor;
    let mut candela = Vec::new();
    for plane in 0..horizontals {
        for row in 0..verticals {
            let what = format!("candela {} of plane {}", row + 1, plane + 1);
            let value = words.number(&what)?;
            candela.push(not_negative(words.line(), value, &what)? * scale);
        }
    }
    let last = horizontal_deg[horizontals - 1];
    if goniometer == Goniometer::C && last > 180.0 && last < 360.0 && horizontal_deg[0] == 0.0 {
        // some files leave out the plane at 360°, which is that at 0°
        horizontal_deg.push(360.0);
        candela.extend_from_within(..verticals);
    }
    Ok(Photometry {
        goniometer,
        vertical_deg,
        horizontal_deg,
        candela,
        lamp_lumens: (lumens >= 0.0).then_some(lumens * lamps as f64),
        watts,
        opening: opening(width_m, length_m),
        tilt,
    })
}

fn tilt_table(words: &mut Words<'_>) -> Result<Tilt, PhotometricError> {
    words.whole("the lamp's place in the luminaire", 1, 3)?;
    let count = words.whole("the number of tilt angles", 1, 1000)? as usize;
    let angles_deg = words.list(count, "tilt angle")?;
    growing(words.line(), &angles_deg, "tilt angles")?;
    let factors = words.list(count, "tilt factor")?;
    for factor in &factors {
        not_negative(words.line(), *factor, "a tilt factor")?;
    }
    Ok(Tilt { angles_deg, factors })
}

/// The symmetries the standard knows.
fn check_horizontals(
    line: usize,
    goniometer: Goniometer,
    angles: &[f64],
) -> Result<(), PhotometricError> {
    let (first, last) = (angles[0], angles[angles.len() - 1]);
    let good = match goniometer {
        Goniometer::C => {
            (first == 0.0 && (last == 0.0 || last == 90.0 || (180.0..=360.0).contains(&last)))
                || (first == 90.0 && last == 270.0)
        }
        _ => (-90.0..=0.0).contains(&first) && last > 0.0 && last <= 90.0,
    };
    if good {
        return Ok(());
    }
    let wanted = match goniometer {
        Goniometer::C => "0 alone, 0 to 90, 0 to 180, 90 to 270 or 0 to 360",
        _ => "-90 to 90 or 0 to 90",
    };
    fault(line, format!("horizontal angles run from {first} to {last}; they must run {wanted}"))
}

/// The opening's width lies across the plane C0 (along C90), its length along C0; below zero it
/// is round.
fn opening(width_m: f64, length_m: f64) -> Opening {
    let (w, l) = (width_m.abs(), length_m.abs());
    match (w > 0.0, l > 0.0) {
        (false, false) => Opening::Point,
        _ if width_m < 0.0 || length_m < 0.0 => Opening::Round {
            diameter_m: if w > 0.0 && l > 0.0 { (w * l).sqrt() } else { w.max(l) },
        },
        (true, true) => Opening::Rectangular { width_m: l, height_m: w },
        // a line: drawn a tenth as wide as it is long
        (true, false) => Opening::Rectangular { width_m: 0.1 * w, height_m: w },
        (false, true) => Opening::Rectangular { width_m: l, height_m: 0.1 * l },
    }
}

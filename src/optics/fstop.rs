//! f-numbers as photographers write them.
//!
//! Marked numbers are rounded names of exact powers of √2: `f/5.6` is 5.657 and `f/11` is
//! 11.314. Reading a marked name gives the exact stop; any other number means itself.

use super::exposure::{aperture_value, f_number};

/// Marked names in thirds of a stop from f/0.7 (Av = −1).
const THIRDS: [&str; 43] = [
    "0.7", "0.8", "0.9", "1", "1.1", "1.2", "1.4", "1.6", "1.8", "2", "2.2", "2.5", "2.8", "3.2",
    "3.5", "4", "4.5", "5", "5.6", "6.3", "7.1", "8", "9", "10", "11", "13", "14", "16", "18",
    "20", "22", "25", "29", "32", "36", "40", "45", "51", "57", "64", "72", "81", "90",
];

/// Fractions of a stop a reading is given in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// As camera dials: f/5.6 + 1/3.
    Thirds,
    /// As hand meters: f/5.6 + 0.4.
    Tenths,
}

/// An aperture as marked full stop plus a fraction: `f/5.6`, `f/5.6 + 1/3`, `f/5.6 + 0.4`.
pub fn reading(f_number: f64, step: Step) -> String {
    let parts = match step {
        Step::Thirds => 3.0,
        Step::Tenths => 10.0,
    };
    let steps = (aperture_value(f_number) * parts).round();
    let full = (steps / parts).floor();
    let part = steps - full * parts;
    let name = full_stop_name(full);
    match step {
        _ if part == 0.0 => format!("f/{name}"),
        Step::Thirds => format!("f/{name} + {part}/3"),
        Step::Tenths => format!("f/{name} + 0.{part}"),
    }
}

/// The name on a camera's dial nearest to `f_number`, in thirds: `f/6.3`.
pub fn marked(f_number: f64) -> String {
    let third = (aperture_value(f_number) * 3.0).round() + 3.0;
    if third >= 0.0 && third < THIRDS.len() as f64 {
        format!("f/{}", THIRDS[third as usize])
    } else {
        format!("f/{}", plain(f_number))
    }
}

/// Reads `8`, `f/8`, `f/5.6 + 1/3`, `f/16+0.3`. A marked name stands for its exact stop.
pub fn parse(text: &str) -> Option<f64> {
    let text = text.trim();
    let text = text.strip_prefix("f/").or_else(|| text.strip_prefix("F/")).unwrap_or(text);
    let (base, more) = match text.split_once('+') {
        Some((base, more)) => (base.trim(), fraction(more.trim())?),
        None => (text.trim(), 0.0),
    };
    let exact = match THIRDS.iter().position(|name| *name == base) {
        Some(third) => f_number(third as f64 / 3.0 - 1.0),
        None => base.parse::<f64>().ok().filter(|n| n.is_finite() && *n > 0.0)?,
    };
    Some(exact * (0.5 * more).exp2())
}

/// `1/3` or `0.3`.
fn fraction(text: &str) -> Option<f64> {
    let value = match text.split_once('/') {
        Some((over, under)) => {
            over.trim().parse::<f64>().ok()? / under.trim().parse::<f64>().ok()?
        }
        None => text.parse().ok()?,
    };
    value.is_finite().then_some(value)
}

/// Marked name of the full stop with this Av.
fn full_stop_name(av: f64) -> String {
    let third = av * 3.0 + 3.0;
    if third >= 0.0 && third < THIRDS.len() as f64 {
        THIRDS[third as usize].to_string()
    } else {
        plain(f_number(av))
    }
}

/// Two significant figures for apertures beyond any dial.
fn plain(f_number: f64) -> String {
    if f_number >= 10.0 { format!("{f_number:.0}") } else { format!("{f_number:.2}") }
}

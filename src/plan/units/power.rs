//! Power of a head in stops below full.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Spelled, UnitError, decimal, fraction, quoted, spelled, trimmed};

/// No head spans more stops than this; a larger value is a slip of the pen.
const WIDEST_STOPS: f64 = 16.0;

/// Power of a head in stops below full: 0 is full, −3 is 1/8.
/// Written `-3`, `"1/8"`, `"full"`, `"-2 1/3"` or `"1/4 + 1/3"` (a third of a stop above 1/4).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Power {
    /// Stops relative to full power; never above 0 on a real head.
    pub stops: f64,
}

impl Power {
    /// Fraction and stops, as a head's display and a meter would say it: `1/8 (−3)`,
    /// `1/8 + 1/3 (−2⅔)`, `1/8 + 0.4 (−2.6)`; thirds where they fit, else tenths.
    pub fn display(self) -> String {
        let (below, above) = self.split();
        let base = fraction_name(below);
        let name = match above {
            Above::Nothing => base,
            Above::Third(n) => format!("{base} + {n}/3"),
            Above::Tenths(t) => format!("{base} + {}", trimmed(t, 1)),
        };
        let stops = match above {
            Above::Nothing => trimmed(below, 0),
            Above::Third(_) => thirds(self.stops),
            Above::Tenths(t) => trimmed(below + t, 1),
        };
        if below == 0.0 && matches!(above, Above::Nothing) {
            "full".into()
        } else {
            format!("{name} ({})", stops.replace('-', "−"))
        }
    }

    /// Whole stops at or below, and what is above them.
    fn split(self) -> (f64, Above) {
        let below = (self.stops + 1e-9).floor();
        let above = self.stops - below;
        let third = (above * 3.0).round();
        if (above - third / 3.0).abs() < 0.01 {
            match third as i64 {
                0 => (below, Above::Nothing),
                3 => (below + 1.0, Above::Nothing),
                n => (below, Above::Third(n)),
            }
        } else {
            match (above * 10.0).round() / 10.0 {
                t if t < 0.05 => (below, Above::Nothing),
                t if t > 0.95 => (below + 1.0, Above::Nothing),
                t => (below, Above::Tenths(t)),
            }
        }
    }

    /// The text that reads back as this very value, if there is one of the photographer's kind.
    fn text(self) -> Option<String> {
        let (below, above) = self.split();
        let text = match above {
            _ if !(-13.0..=0.0).contains(&below) || self.stops > 0.0 => return None,
            Above::Nothing if below == 0.0 => "full".into(),
            Above::Nothing => fraction_name(below),
            Above::Third(n) => format!("{} + {n}/3", fraction_name(below)),
            Above::Tenths(_) => return None,
        };
        (Self::from_text(&text) == Ok(self)).then_some(text)
    }
}

/// What is above whole stops.
enum Above {
    Nothing,
    Third(i64),
    Tenths(f64),
}

fn fraction_name(stops: f64) -> String {
    if stops == 0.0 {
        "full".into()
    } else if stops < 0.0 {
        format!("1/{}", (-stops).exp2())
    } else {
        format!("{}× full", stops.exp2())
    }
}

fn thirds(stops: f64) -> String {
    let all = (stops * 3.0).round() as i64;
    let (whole, part) = (all / 3, (all % 3).abs());
    let part = ["", "⅓", "⅔"][part as usize];
    match whole {
        0 if all < 0 => format!("-{part}"),
        0 => part.into(),
        _ => format!("{whole}{part}"),
    }
}

impl fmt::Display for Power {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.display())
    }
}

impl Spelled for Power {
    const EXPECTED: &'static str =
        "a power: stops below full as `-3`, or a text such as \"1/8\", \"-2 1/3\" or \"full\"";

    fn from_number(number: f64) -> Result<Self, UnitError> {
        if !number.is_finite() {
            Err(UnitError::new(
                format!("the power {number} is not a finite number"),
                "write stops below full, `-3`, or a fraction, \"1/8\"",
            ))
        } else if number.abs() > WIDEST_STOPS {
            Err(UnitError::new(
                format!("the power {number} is {number} stops from full, which no head has"),
                "plain numbers are stops below full, not per cent or W·s: `-3` is 1/8",
            ))
        } else {
            Ok(Self { stops: number })
        }
    }

    fn from_text(text: &str) -> Result<Self, UnitError> {
        stops(&text.trim().to_lowercase().replace('−', "-"))
            .map_err(|remedy| UnitError::new(format!("{} is not a power", quoted(text)), remedy))
            .and_then(Self::from_number)
    }
}

/// Stops below full of a text; the error is the remedy.
fn stops(text: &str) -> Result<f64, String> {
    const HOW: &str =
        "write stops below full (`-3`, \"-2 1/3\") or a fraction of full (\"1/8\", \"1/4 + 1/3\")";
    if text.ends_with('%') {
        return Err("power is in stops: half power is \"1/2\" or `-1`, not per cent".into());
    }
    if matches!(text, "full" | "1/1") {
        return Ok(0.0);
    }
    if let Some(number) = decimal(text) {
        return Ok(number);
    }
    // -2 1/3, -1/3, +1/3: a sign says that it is stops
    if let Some(signed) = text.strip_prefix(['-', '+']) {
        let (whole, part) = match signed.trim().split_once(' ') {
            Some((whole, part)) => (decimal(whole).ok_or(HOW)?, part.trim()),
            None => (0.0, signed.trim()),
        };
        let (top, bottom) = fraction(part).ok_or(HOW)?;
        let size = whole + top / bottom;
        return Ok(if text.starts_with('-') { -size } else { size });
    }
    // a fraction of full, with or without a part of a stop added or taken
    let (base, sign, part) = match text.find(['+', '-']) {
        Some(at) => (
            text[..at].trim(),
            if text[at..].starts_with('+') { 1.0 } else { -1.0 },
            text[at + 1..].trim(),
        ),
        None => (text, 1.0, ""),
    };
    let below = if base == "full" {
        0.0
    } else {
        let (top, bottom) = fraction(base).ok_or(HOW)?;
        let log = bottom.log2();
        if top != 1.0 || log.fract() != 0.0 {
            return Err("fractions of full power go by halves (\"1/2\", \"1/4\", \"1/8\"); \
                 for a part of a stop below full write \"-1/3\""
                .into());
        }
        -log
    };
    let part = match part {
        "" => 0.0,
        part => match (decimal(part), fraction(part)) {
            (Some(n), _) => n,
            (_, Some((top, bottom))) => top / bottom,
            _ => return Err(HOW.into()),
        },
    };
    Ok(below + sign * part)
}

impl<'de> Deserialize<'de> for Power {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        spelled(deserializer)
    }
}

impl Serialize for Power {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.text() {
            Some(text) => serializer.serialize_str(&text),
            None => serializer.serialize_f64(self.stops),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_every_spelling() {
        for (text, stops) in [
            ("1/8", -3.0),
            ("full", 0.0),
            ("1/1", 0.0),
            ("-3", -3.0),
            ("−2.5", -2.5),
            ("-2 1/3", -2.0 - 1.0 / 3.0),
            ("-1/3", -1.0 / 3.0),
            ("1/4 + 1/3", -2.0 + 1.0 / 3.0),
            ("1/4+0.3", -1.7),
            ("1/4 - 1/3", -2.0 - 1.0 / 3.0),
            ("full - 2/3", -2.0 / 3.0),
        ] {
            let power = Power::from_text(text).unwrap();
            assert!((power.stops - stops).abs() < 1e-12, "{text}: {power:?}");
        }
    }

    #[test]
    fn refuses_what_is_no_power() {
        for text in [
            "", "half", "50%", "1/3", "3/4", "1/0", "1/8 + ", "-", "- 1/", "1/8 + x", "-300", "nan",
        ] {
            let error = Power::from_text(text);
            assert!(text == "1/8 + " || error.is_err(), "{text}: {error:?}");
        }
        assert!(Power::from_number(f64::INFINITY).is_err());
        assert!(Power::from_number(50.0).unwrap_err().remedy.contains("per cent"));
    }

    #[test]
    fn shows_fraction_and_stops() {
        for (stops, shown) in [
            (0.0, "full"),
            (-3.0, "1/8 (−3)"),
            (-3.0 + 1.0 / 3.0, "1/8 + 1/3 (−2⅔)"),
            (-1.0 / 3.0, "1/2 + 2/3 (−⅓)"),
            (-2.6, "1/8 + 0.4 (−2.6)"),
            (-2.999, "1/8 (−3)"),
            (1.0, "2× full (1)"),
        ] {
            assert_eq!(Power { stops }.display(), shown);
        }
    }

    #[test]
    fn its_text_reads_back() {
        for thirds in -30..=0 {
            let power = Power {
                stops: f64::from(thirds).div_euclid(3.0) + f64::from(thirds).rem_euclid(3.0) / 3.0,
            };
            let text = power.text().unwrap();
            assert_eq!(Power::from_text(&text).unwrap(), power, "{text}");
        }
    }
}

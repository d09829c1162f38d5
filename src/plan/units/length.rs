//! Lengths in metres, centimetres, feet and inches.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Spelled, UnitError, decimal, quoted, spelled, trimmed};

/// Metres in an international foot, exact by definition (1959 agreement).
const FOOT_M: f64 = 0.3048;
/// Nothing on a set is longer, in metres; a larger value is a slip of the pen.
const LONGEST_M: f64 = 1000.0;

/// How a length was written, so that writing keeps it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Default)]
pub enum LengthUnit {
    /// Metres, centimetres or millimetres; written back in metres.
    #[default]
    Metric,
    /// Feet or inches; written back in feet and inches.
    Feet,
}

/// A length. Written `1.5` (metres), `"1.5 m"`, `"180 cm"`, `"5 ft"`, `"5ft 2in"` or `"62 in"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Length {
    /// Metres.
    pub metres: f64,
    /// How it was written.
    pub unit: LengthUnit,
}

impl Length {
    /// A length of `metres`.
    pub const fn metres(metres: f64) -> Self {
        Self { metres, unit: LengthUnit::Metric }
    }

    /// A length of `feet`, kept to the nanometre so that its text reads back the same.
    pub fn feet(feet: f64) -> Self {
        Self { metres: (feet * FOOT_M * 1e9).round() / 1e9, unit: LengthUnit::Feet }
    }

    fn checked(self, written: impl fmt::Display) -> Result<Self, UnitError> {
        if !self.metres.is_finite() {
            Err(UnitError::new(
                format!("the length {written} is not a finite number"),
                "write metres as `1.5`, or a text such as \"1.5 m\", \"180 cm\" or \"5ft 2in\"",
            ))
        } else if self.metres.abs() > LONGEST_M {
            Err(UnitError::new(
                format!("the length {written} is over a kilometre"),
                "plain numbers are metres; for centimetres write \"180 cm\"",
            ))
        } else {
            Ok(self)
        }
    }

    /// Feet and inches to an eighth of an inch where that is exact, else decimal feet.
    fn in_feet(self) -> String {
        let sign = if self.metres < 0.0 { "-" } else { "" };
        let inches = self.metres.abs() / FOOT_M * 12.0;
        let eighths = (inches * 8.0).round();
        if (eighths / 8.0 - inches).abs() < 1e-7 {
            let feet = (eighths / 96.0).floor();
            let rest = eighths / 8.0 - feet * 12.0;
            match (feet > 0.0, rest > 0.0) {
                (true, true) => format!("{sign}{feet}ft {}in", trimmed(rest, 3)),
                (false, true) => format!("{sign}{}in", trimmed(rest, 3)),
                _ => format!("{sign}{feet}ft"),
            }
        } else {
            format!("{sign}{}ft", trimmed(self.metres.abs() / FOOT_M, 10))
        }
    }
}

impl Default for Length {
    fn default() -> Self {
        Self::metres(0.0)
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.unit {
            LengthUnit::Metric => write!(f, "{} m", trimmed(self.metres, 3)),
            LengthUnit::Feet => write!(f, "{} ({} m)", self.in_feet(), trimmed(self.metres, 2)),
        }
    }
}

impl std::str::FromStr for Length {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        Self::from_text(text)
    }
}

impl Spelled for Length {
    const EXPECTED: &'static str =
        "a length: metres as `1.5`, or a text such as \"1.5 m\", \"180 cm\" or \"5ft 2in\"";

    fn from_number(number: f64) -> Result<Self, UnitError> {
        Self::metres(number).checked(number)
    }

    fn from_text(text: &str) -> Result<Self, UnitError> {
        let no_length =
            |remedy: &str| Err(UnitError::new(format!("{} is not a length", quoted(text)), remedy));
        let (negative, body) = match text.trim().strip_prefix(['-', '−']) {
            Some(rest) => (true, rest.trim_start()),
            None => (false, text.trim()),
        };
        let Some(parts) = quantities(body) else {
            return no_length(if body.contains(',') {
                "write the decimals after a point, not a comma: \"1.5 m\""
            } else {
                "write a number and m, cm, mm, ft or in: \"1.5 m\", \"180 cm\", \"5ft 2in\""
            });
        };
        let length = match parts.as_slice() {
            [(n, "" | "m" | "metre" | "metres" | "meter" | "meters")] => Self::metres(*n),
            [(n, "cm")] => Self::metres(n / 100.0),
            [(n, "mm")] => Self::metres(n / 1000.0),
            [(n, unit)] if is_foot(unit) => Self::feet(*n),
            [(n, unit)] if is_inch(unit) => Self::feet(n / 12.0),
            [(feet, foot), (inches, inch)] if is_foot(foot) && is_inch(inch) => {
                Self::feet(feet + inches / 12.0)
            }
            [(_, unit)] => {
                return no_length(&format!(
                    "the unit `{}` is not known; write m, cm, mm, ft or in",
                    unit.chars().take(12).collect::<String>().escape_debug()
                ));
            }
            _ => {
                return no_length(
                    "write one number with its unit, or feet and inches: \"5ft 2in\"",
                );
            }
        };
        let length = if negative { Self { metres: -length.metres, ..length } } else { length };
        length.checked(quoted(text))
    }
}

fn is_foot(unit: &str) -> bool {
    matches!(unit, "ft" | "foot" | "feet" | "'" | "′")
}

fn is_inch(unit: &str) -> bool {
    matches!(unit, "in" | "inch" | "inches" | "\"" | "″")
}

/// Splits `5ft 2in` into numbers and units; `None` where a number is missing or malformed.
fn quantities(mut rest: &str) -> Option<Vec<(f64, &str)>> {
    let mut found = Vec::new();
    while !rest.is_empty() {
        let end = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(rest.len());
        let number = decimal(&rest[..end])?;
        rest = rest[end..].trim_start();
        let end = rest
            .find(|c: char| c.is_ascii_digit() || c.is_whitespace() || matches!(c, '.' | ',' | '-'))
            .unwrap_or(rest.len());
        found.push((number, &rest[..end]));
        rest = rest[end..].trim_start();
    }
    (!found.is_empty()).then_some(found)
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        spelled(deserializer)
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.unit {
            LengthUnit::Metric => serializer.serialize_f64(self.metres),
            LengthUnit::Feet => serializer.serialize_str(&self.in_feet()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_every_spelling() {
        for (text, metres) in [
            ("1.5 m", 1.5),
            ("180 cm", 1.8),
            ("180cm", 1.8),
            ("35 mm", 0.035),
            ("5 ft", 1.524),
            ("5ft 2in", 1.5748),
            ("5' 2\"", 1.5748),
            ("62 in", 1.5748),
            ("-2 ft", -0.6096),
            ("2.5", 2.5),
        ] {
            let length = Length::from_text(text).unwrap();
            assert!((length.metres - metres).abs() < 1e-9, "{text}: {length:?}");
        }
    }

    #[test]
    fn refuses_what_is_no_length() {
        for text in
            ["", "m", "1,5 m", "5 lm", "1.5.2 m", "2in 5ft", "NaN", "inf m", "1e400", "5000 m"]
        {
            let error = Length::from_text(text).unwrap_err();
            assert!(error.problem.contains(&text.escape_debug().to_string()), "{error}");
            assert!(!error.remedy.is_empty());
        }
        assert!(Length::from_number(f64::NAN).is_err());
        assert!(Length::from_number(1500.0).is_err());
    }

    #[test]
    fn feet_are_written_back_in_feet() {
        for (feet, text) in [
            (5.0, "5ft"),
            (62.0 / 12.0, "5ft 2in"),
            (0.5, "6in"),
            (5.123, "5.123ft"),
            (-1.25, "-1ft 3in"),
        ] {
            let length = Length::feet(feet);
            assert_eq!(length.in_feet(), text);
            assert_eq!(Length::from_text(text).unwrap(), length);
        }
    }
}

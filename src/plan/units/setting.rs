//! What is set on the camera or put before its lens: aperture, shutter, filters.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Spelled, UnitError, decimal, fraction, quoted, spelled, trimmed};
use crate::optics::exposure::{density_stops, stops_between};
use crate::optics::fstop;

/// Aperture as an f-number. Written `8`, `"f/8"` or, as meters show it, `"f/8 + 0.3"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Aperture {
    /// The f-number N.
    pub f_number: f64,
}

impl Aperture {
    /// The engraved name within a twentieth of a stop, if there is one: 5.657 is `f/5.6`.
    pub fn engraved(self) -> Option<String> {
        let name = fstop::marked(self.f_number);
        let exact = fstop::parse(&name)?;
        let near = |f: f64| stops_between(self.f_number, f).abs() < 0.05;
        let rounded: Option<f64> = name.trim_start_matches("f/").parse().ok();
        (near(exact) || rounded.is_some_and(near)).then_some(name)
    }
}

impl fmt::Display for Aperture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.engraved() {
            Some(name) => f.write_str(&name),
            None => write!(f, "f/{}", trimmed(self.f_number, 1)),
        }
    }
}

impl Spelled for Aperture {
    const EXPECTED: &'static str = "an aperture: the f-number as `8` or \"f/8\"";

    fn from_number(number: f64) -> Result<Self, UnitError> {
        if (0.5..=128.0).contains(&number) {
            Ok(Self { f_number: number })
        } else {
            Err(UnitError::new(
                format!("the aperture {number} is no f-number"),
                "write an f-number from 0.5 to 128, `8` or \"f/8\"",
            ))
        }
    }

    /// A plain f-number counts as written; one with a part of a stop added, as a meter shows it,
    /// counts from the exact stop: `f/5.6 + 0.3` is 5.657·2^0.15.
    fn from_text(text: &str) -> Result<Self, UnitError> {
        let body = text.trim();
        if let Some(read) = body.contains('+').then(|| fstop::parse(body)).flatten() {
            return Self::from_number(read);
        }
        let body = body.strip_prefix(['f', 'F']).unwrap_or(body);
        let body = body.strip_prefix('/').unwrap_or(body).trim();
        match decimal(body) {
            Some(number) => Self::from_number(number),
            None => Err(UnitError::new(
                format!("{} is not an aperture", quoted(text)),
                "write the f-number as `8` or \"f/8\"",
            )),
        }
    }
}

impl<'de> Deserialize<'de> for Aperture {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        spelled(deserializer)
    }
}

impl Serialize for Aperture {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&format!("f/{}", self.f_number))
    }
}

/// Shutter time. Written in seconds (`0.008`) or `"1/125"`, `"2 s"`; engraved times count as
/// written, `1/60` is a sixtieth.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Shutter {
    /// Seconds the shutter is open.
    pub seconds: f64,
}

impl Shutter {
    /// `1/125` where that is this very value.
    fn as_fraction(self) -> Option<String> {
        let bottom = (1.0 / self.seconds).round();
        (self.seconds < 1.0 && 1.0 / bottom == self.seconds).then(|| format!("1/{bottom}"))
    }
}

impl fmt::Display for Shutter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.as_fraction() {
            Some(text) => write!(f, "{text} s"),
            None if self.seconds < 0.25 => write!(f, "1/{} s", trimmed(1.0 / self.seconds, 0)),
            None => write!(f, "{} s", trimmed(self.seconds, 2)),
        }
    }
}

impl Spelled for Shutter {
    const EXPECTED: &'static str = "a shutter time: seconds as `0.008`, or \"1/125\" or \"2 s\"";

    fn from_number(number: f64) -> Result<Self, UnitError> {
        if (1e-5..=60.0).contains(&number) {
            Ok(Self { seconds: number })
        } else {
            Err(UnitError::new(
                format!("the shutter time {number} s is out of reach"),
                if number > 60.0 && number.is_finite() {
                    format!("for a fraction of a second write \"1/{number}\"")
                } else {
                    "write from 0.00001 to 60 seconds, `0.008` or \"1/125\"".into()
                },
            ))
        }
    }

    fn from_text(text: &str) -> Result<Self, UnitError> {
        let body = text.trim();
        let body = body.strip_suffix("sec").or(body.strip_suffix('s')).unwrap_or(body).trim_end();
        match (decimal(body), fraction(body)) {
            (Some(number), _) => Self::from_number(number),
            (_, Some((top, bottom))) => Self::from_number(top / bottom),
            _ => Err(UnitError::new(
                format!("{} is not a shutter time", quoted(text)),
                "write seconds: `0.008`, \"1/125\" or \"2 s\"",
            )),
        }
    }
}

impl<'de> Deserialize<'de> for Shutter {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        spelled(deserializer)
    }
}

impl Serialize for Shutter {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.as_fraction() {
            Some(text) => serializer.serialize_str(&text),
            None => serializer.serialize_f64(self.seconds),
        }
    }
}

/// A neutral filter before the lens. Written in stops (`3`, `"3 stops"`), or as filters are
/// marked: by factor (`"ND8"`, `"8x"`) or by density (`"0.9 D"`).
#[derive(Debug, Clone, Copy, Default, PartialEq, PartialOrd)]
pub struct Neutral {
    /// Stops it takes.
    pub stops: f64,
}

impl Spelled for Neutral {
    const EXPECTED: &'static str = "a neutral filter: stops as `3`, or \"ND8\" or \"0.9 D\"";

    fn from_number(number: f64) -> Result<Self, UnitError> {
        if (0.0..=24.0).contains(&number) {
            Ok(Self { stops: number })
        } else {
            Err(UnitError::new(
                format!("a neutral filter of {number} stops is out of reach"),
                "write from 0 to 24 stops, or the filter's factor as \"ND8\"",
            ))
        }
    }

    fn from_text(text: &str) -> Result<Self, UnitError> {
        let body = text.trim().to_ascii_lowercase();
        let factor = body.strip_prefix("nd").or(body.strip_suffix('x'));
        let density = body.strip_suffix('d').map(str::trim_end);
        let stops = body.strip_suffix("stops").or(body.strip_suffix("stop")).map(str::trim_end);
        let read = match (factor, density) {
            (Some(factor), _) => decimal(factor.trim_start()).filter(|f| *f >= 1.0).map(f64::log2),
            (_, Some(density)) => decimal(density).map(density_stops),
            _ => decimal(stops.unwrap_or(&body)),
        };
        match read {
            Some(stops) => Self::from_number(stops),
            None => Err(UnitError::new(
                format!("{} is not a neutral filter", quoted(text)),
                "write its stops as `3`, its factor as \"ND8\" or its density as \"0.9 D\"",
            )),
        }
    }
}

impl<'de> Deserialize<'de> for Neutral {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        spelled(deserializer)
    }
}

impl Serialize for Neutral {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.stops)
    }
}

/// Strength of a diffusion filter, by eighths as such filters are marked. Written `"1/8"` or
/// `0.125`.
#[derive(Debug, Clone, Copy, Default, PartialEq, PartialOrd)]
pub struct Diffusion {
    /// 0 is none, 1 the full spread.
    pub strength: f64,
}

impl fmt::Display for Diffusion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let eighths = self.strength * 8.0;
        let (top, bottom) = [(1.0, 8), (2.0, 4), (4.0, 2)]
            .into_iter()
            .find(|(unit, _)| eighths == *unit)
            .map_or((eighths, 8), |(_, bottom)| (1.0, bottom));
        if self.strength == 1.0 {
            f.write_str("1")
        } else if top.fract() == 0.0 {
            write!(f, "{top}/{bottom}")
        } else {
            write!(f, "{}", self.strength)
        }
    }
}

impl Spelled for Diffusion {
    const EXPECTED: &'static str =
        "a diffusion filter: its strength as \"1/8\", \"1/4\", \"1/2\" or 1";

    fn from_number(number: f64) -> Result<Self, UnitError> {
        if (0.0..=1.0).contains(&number) {
            Ok(Self { strength: number })
        } else {
            Err(UnitError::new(
                format!("there is no diffusion filter of strength {number}"),
                "write a strength up to 1, such as \"1/8\" or \"1/4\"",
            ))
        }
    }

    fn from_text(text: &str) -> Result<Self, UnitError> {
        let body = text.trim();
        match (decimal(body), fraction(body)) {
            (Some(number), _) => Self::from_number(number),
            (_, Some((top, bottom))) => Self::from_number(top / bottom),
            _ => Err(UnitError::new(
                format!("{} is not a filter's strength", quoted(text)),
                "write a strength up to 1, such as \"1/8\" or \"1/4\"",
            )),
        }
    }
}

impl<'de> Deserialize<'de> for Diffusion {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        spelled(deserializer)
    }
}

impl Serialize for Diffusion {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let text = self.to_string();
        match text.contains('/') {
            true => serializer.serialize_str(&text),
            false => serializer.serialize_f64(self.strength),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn apertures() {
        for text in ["8", "f/8", "F8", " f/8.0 "] {
            assert_eq!(Aperture::from_text(text).unwrap().f_number, 8.0);
        }
        assert_eq!(Aperture::from_text("f/5.6").unwrap().f_number, 5.6, "kept as written");
        assert_eq!(Aperture { f_number: 5.656854 }.to_string(), "f/5.6");
        assert_eq!(Aperture { f_number: 5.6 }.to_string(), "f/5.6");
        assert_eq!(Aperture { f_number: 1.2 }.to_string(), "f/1.2");
        assert_eq!(Aperture { f_number: 8.4063 }.to_string(), "f/8.4");
        let read = Aperture::from_text("f/8 + 0.5").unwrap();
        assert!((read.f_number - 8.0 * 0.25f64.exp2()).abs() < 1e-12);
        for text in ["", "f", "0", "f/0", "-8", "nan", "f/8/2", "1000"] {
            assert!(Aperture::from_text(text).is_err(), "{text}");
        }
        assert!(Aperture::from_number(f64::NAN).is_err());
    }

    #[test]
    fn shutters() {
        for (text, seconds) in
            [("1/125", 0.008), ("1/125 s", 0.008), ("2 s", 2.0), ("2s", 2.0), ("0.5", 0.5)]
        {
            assert_eq!(Shutter::from_text(text).unwrap().seconds, seconds);
        }
        for text in ["", "1/0", "fast", "-1", "1/-3", "0", "nan"] {
            assert!(Shutter::from_text(text).is_err(), "{text}");
        }
        assert!(Shutter::from_number(125.0).unwrap_err().remedy.contains("1/125"));
        assert_eq!(Shutter { seconds: 1.0 / 160.0 }.to_string(), "1/160 s");
    }

    #[test]
    fn filters() {
        for (text, stops) in [("3", 3.0), ("ND8", 3.0), ("nd 8", 3.0), ("8x", 3.0), ("1 stop", 1.0)]
        {
            assert_eq!(Neutral::from_text(text).unwrap().stops, stops, "{text}");
        }
        // density 0.9 passes an eighth within a hundredth of a stop
        assert!((Neutral::from_text("0.9 D").unwrap().stops - 2.98974).abs() < 1e-5);
        for text in ["", "nd", "nd0", "x", "-1", "dark", "99", "nan"] {
            assert!(Neutral::from_text(text).is_err(), "{text}");
        }
        for (text, strength) in [("1/8", 0.125), ("1/4", 0.25), ("1", 1.0), ("0.5", 0.5)] {
            assert_eq!(Diffusion::from_text(text).unwrap().strength, strength, "{text}");
        }
        for text in ["", "2", "9/8", "-1/8", "1/0", "soft"] {
            assert!(Diffusion::from_text(text).is_err(), "{text}");
        }
        for (strength, text) in
            [(0.125, "1/8"), (0.25, "1/4"), (0.375, "3/8"), (0.5, "1/2"), (1.0, "1")]
        {
            assert_eq!(Diffusion { strength }.to_string(), text);
        }
    }
}

//! Wished readings as typed: `key=f/8`, `fill=-2`, `rim=+1/3@crown`, `total=camera`.

use super::error::CliError;
use super::meter::point;
use super::typed::{one_of, quoted};
use crate::plan::Plan;
use crate::shoot::balance::{Base, Subject, Wish};
use crate::shoot::fstop;

/// The farthest that a wish may lie from what it is counted from, in stops.
const FARTHEST: f64 = 16.0;

const HOW: &str = "write LIGHT=f/8, or stops from the key as LIGHT=-2 or LIGHT=+1/3, or from all \
     together or the camera's aperture as LIGHT=total-1 or LIGHT=camera; a place goes last, as in \
     LIGHT=+0.5@crown";

/// One wish.
pub(super) fn wish(typed: &str, plan: &Plan) -> Result<Wish, CliError> {
    let unclear = |what: &str| CliError::usage(format!("{}: {what}", quoted(typed)), HOW);
    let Some((name, value)) = typed.rsplit_once('=') else {
        return Err(unclear("this wish has no `=`"));
    };
    let name = name.trim();
    let subject = if name == "total" && !plan.lights.iter().any(|light| light.name == name) {
        Subject::Total
    } else {
        let known: Vec<&str> = plan.lights.iter().map(|light| light.name.as_str()).collect();
        Subject::Light(one_of("balance", name, "light", &known)?)
    };
    let (value, at) = match value.split_once('@') {
        Some((value, at)) => (value, Some(point("balance", at.trim(), plan)?)),
        None => (value, None),
    };
    let value = value.trim().replace('−', "-");
    let (base, rest) = base(&value).ok_or_else(|| unclear("this is no reading"))?;
    let stops = stops(rest).ok_or_else(|| unclear("these are no stops"))?;
    if stops.abs() > FARTHEST {
        return Err(unclear("that is farther than any meter reaches"));
    }
    if base == Base::Total && subject == Subject::Total {
        return Err(unclear("a total cannot be counted from itself"));
    }
    Ok(Wish { subject, base, stops, at })
}

/// What a wish is counted from, and the text of its stops.
fn base(value: &str) -> Option<(Base, &str)> {
    if let Some(aperture) = value.strip_prefix("f/").or_else(|| value.strip_prefix("F/")) {
        // `f/5.6+0.3` is a reading as the meter says it; a `-` takes from it
        let (number, less) = match aperture.find('-') {
            Some(at) => aperture.split_at(at),
            None => (aperture, ""),
        };
        let f_number = fstop::parse(number).filter(|n| (0.1..=1000.0).contains(n))?;
        return Some((Base::Aperture(f_number), less));
    }
    for (word, base) in [("total", Base::Total), ("camera", Base::Camera), ("key", Base::Key)] {
        if let Some(rest) = value.strip_prefix(word) {
            return Some((base, rest.trim()));
        }
    }
    // a bare 8 could be f/8 or 8 stops; only 0 is plain
    let signed = value.starts_with(['+', '-']) || value == "0";
    signed.then_some((Base::Key, value))
}

/// `-2`, `+0.5`, `+1/3`, `-1 1/3`, or nothing.
fn stops(text: &str) -> Option<f64> {
    let text = text.trim();
    if text.is_empty() {
        return Some(0.0);
    }
    let (sign, size) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let mut sum = 0.0;
    let mut parts = 0;
    for part in size.split_whitespace() {
        let number = |text: &str| {
            let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
            text.parse::<f64>().ok().filter(|_| plain)
        };
        sum += match part.split_once('/') {
            Some((over, under)) => number(over)? / number(under).filter(|n| *n > 0.0)?,
            None => number(part)?,
        };
        parts += 1;
    }
    (parts > 0 && sum.is_finite()).then_some(sign * sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan;
    use crate::shoot::MeterPoint;

    fn plan() -> Plan {
        let light = |name: &str| format!("(name: \"{name}\", place: At(x: 1, y: 2, z: 1)),");
        let text = format!(
            "(format: 1, sitter: (), lights: [{}{}{}])",
            light("key"),
            light("fill"),
            light("rim left")
        );
        plan::parse(&text, "test").unwrap()
    }

    #[test]
    fn reads_every_spelling() {
        let plan = plan();
        for (typed, base, stops) in [
            ("key=f/8", Base::Aperture(8.0), 0.0),
            ("key= f/8 ", Base::Aperture(8.0), 0.0),
            ("fill=-2", Base::Key, -2.0),
            ("fill=−2", Base::Key, -2.0),
            ("fill=0", Base::Key, 0.0),
            ("rim left=+0.5", Base::Key, 0.5),
            ("rim left=+1/3", Base::Key, 1.0 / 3.0),
            ("rim left=-1 1/3", Base::Key, -4.0 / 3.0),
            ("fill=key-2", Base::Key, -2.0),
            ("fill=total-1", Base::Total, -1.0),
            ("key=camera", Base::Camera, 0.0),
            ("key=camera + 1/3", Base::Camera, 1.0 / 3.0),
            ("total=f/11-1", Base::Aperture(8.0 * 2f64.sqrt()), -1.0),
        ] {
            let wish = wish(typed, &plan).unwrap_or_else(|e| panic!("{typed}: {e}"));
            match (wish.base, base) {
                (Base::Aperture(a), Base::Aperture(b)) => assert!((a - b).abs() < 1e-9, "{typed}"),
                (a, b) => assert_eq!(a, b, "{typed}"),
            }
            assert!((wish.stops - stops).abs() < 1e-12, "{typed}: {}", wish.stops);
        }
        let third = wish("key=f/5.6+1/3", &plan).unwrap();
        assert!(matches!(third.base, Base::Aperture(n) if (n - 6.3496).abs() < 1e-3));
        let hair = wish("rim left=+0.5@hair", &plan).unwrap();
        assert_eq!(hair.at, Some(MeterPoint::Mark("crown".into())));
        let point = wish("fill=-2@0,1.2,0.1", &plan).unwrap();
        assert_eq!(point.at, Some(MeterPoint::Point([0.0, 1.2, 0.1])));
        assert_eq!(wish("total=camera", &plan).unwrap().subject, Subject::Total);
    }

    #[test]
    fn refuses_what_is_no_wish() {
        let plan = plan();
        for typed in [
            "key",
            "key=",
            "key=8",
            "key=f/",
            "key=f/0",
            "key=f/nan",
            "key=nan",
            "key=+",
            "key=-x",
            "key=+1/0",
            "key=+99",
            "key=-inf",
            "kye=f/8",
            "total=total",
            "fill=-2@nowhere",
            "fill=-2@",
            "=f/8",
            "key=f/8--2",
            "key=+1e9",
        ] {
            assert!(wish(typed, &plan).is_err(), "{typed}");
        }
    }
}

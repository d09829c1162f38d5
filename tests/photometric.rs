//! Photometric files: closed forms, symmetries told in different ways, broken and hostile files.

use std::f64::consts::PI;

use foreshadow::optics::photometric::{self, Goniometer, Opening};
use glam::DVec3;
use proptest::prelude::*;

/// An LM-63 file of candela over (vertical, horizontal) angles.
fn lm63(
    header: &str,
    kind: u32,
    vertical: &[f64],
    horizontal: &[f64],
    candela: impl Fn(f64, f64) -> f64,
) -> String {
    let list =
        |values: &[f64]| values.iter().map(f64::to_string).collect::<Vec<_>>().join(" ") + "\n";
    let mut text = format!(
        "{header}[LUMCAT] test\nTILT=NONE\n1 -1 1 {} {} {kind} 2 0.3 0.2 0\n1 1 40\n",
        vertical.len(),
        horizontal.len()
    );
    text += &list(vertical);
    text += &list(horizontal);
    for h in horizontal {
        text += &list(&vertical.iter().map(|v| candela(*v, *h)).collect::<Vec<_>>());
    }
    text
}

/// A EULUMDAT file of intensities per klm for the planes that a symmetry stores.
fn eulumdat(
    symmetry: u32,
    planes: &[f64],
    stored: &[f64],
    rows: &[f64],
    candela: impl Fn(f64, f64) -> f64,
) -> String {
    let mut lines: Vec<String> = ["maker", "1"].map(String::from).to_vec();
    lines.push(symmetry.to_string());
    lines.push(planes.len().to_string());
    lines.push("15".into());
    lines.push(rows.len().to_string());
    lines.push("5".into());
    lines.extend(["report", "name", "number", "file", "date"].map(String::from));
    lines.extend(["600", "300", "80"].map(String::from));
    lines.extend(["500", "200", "0", "0", "0", "0"].map(String::from));
    lines.extend(["100", "80", "1", "0"].map(String::from));
    lines.push("1".into());
    lines.extend(["1", "lamp", "2000", "3000 K", "80", "30"].map(String::from));
    lines.extend(std::iter::repeat_n("1".to_string(), 10));
    for list in [planes, rows] {
        lines.extend(list.iter().map(f64::to_string));
    }
    for c in stored {
        lines.extend(rows.iter().map(|g| candela(*g, *c).to_string()));
    }
    lines.join("\r\n") + "\r\n"
}

fn steps(from: f64, to: f64, step: f64) -> Vec<f64> {
    (0..=((to - from) / step).round() as i32).map(|k| from + step * f64::from(k)).collect()
}

fn near(got: f64, expected: f64, share: f64) {
    assert!((got / expected - 1.0).abs() < share, "got {got}, expected {expected}");
}

/// Sampled cosⁿ, and what its linear interpolation integrates to (exact sums of the same files).
#[test]
fn lumens_of_sampled_cosines() {
    for (n, step, lumens) in [
        (1, 1.0, 3141.513),
        (1, 5.0, 3139.597),
        (4, 5.0, 1259.82),
        (20, 1.0, 299.3512),
        (20, 5.0, 302.965),
        (20, 10.0, 313.8502),
        (0, 15.0, 6283.185),
    ] {
        let candela = |g: f64, _: f64| 1000.0 * g.to_radians().cos().max(0.0).powi(n);
        let text = lm63("IESNA:LM-63-1995\n", 1, &steps(0.0, 90.0, step), &[0.0], candela);
        near(photometric::parse(&text).unwrap().lumens(), lumens, 1e-6);
    }
    // beam and field of cos¹ and cos⁴: 120°, 168.52°; 65.53°, 111.56°
    for (n, beam, field) in [(1, 120.0, 168.5217), (4, 65.5302, 111.5643)] {
        let candela = |g: f64, _: f64| 1000.0 * g.to_radians().cos().max(0.0).powi(n);
        let text = lm63("", 1, &steps(0.0, 90.0, 0.5), &[0.0], candela);
        let file = photometric::parse(&text).unwrap();
        near(file.full_angle_deg(0.5).unwrap(), beam, 1e-3);
        near(file.full_angle_deg(0.1).unwrap(), field, 1e-3);
    }
}

/// Mirrored about C0–C180 and C90–C270.
fn twofold(g: f64, c: f64) -> f64 {
    let (g, c) = (g.to_radians(), c.to_radians());
    700.0 * g.cos().max(0.0) * (1.0 + 0.5 * (2.0 * c).cos() * g.sin().powi(2))
}

/// Mirrored about C0–C180 only.
fn onefold(g: f64, c: f64) -> f64 {
    twofold(g, c) * (1.0 + 0.6 * c.to_radians().cos() * g.to_radians().sin())
}

fn agree(files: &[(&str, String)]) {
    let read: Vec<_> = files
        .iter()
        .map(|(name, text)| {
            (name, photometric::parse(text).unwrap_or_else(|e| panic!("{name}: {e}")))
        })
        .collect();
    let (_, first) = &read[0];
    for (name, file) in &read {
        near(file.lumens(), first.lumens(), 1e-9);
        for k in 0..500 {
            let z = 1.0 - 2.0 * (f64::from(k) + 0.5) / 500.0;
            let phi = 2.399_963 * f64::from(k);
            let r = (1.0 - z * z).sqrt();
            let d = DVec3::new(r * phi.cos(), r * phi.sin(), z);
            let (a, b) = (file.toward(d), first.toward(d));
            assert!((a - b).abs() < 1e-6 * first.peak(), "{name} toward {d}: {a} {b}");
        }
    }
}

/// One luminaire told with every symmetry its form allows is one luminaire.
#[test]
fn symmetries_tell_the_same() {
    let rows = steps(0.0, 90.0, 5.0);
    let all = steps(0.0, 345.0, 15.0);
    let span = |from: f64, to: f64| steps(from, to, 15.0);
    let klm = |c: fn(f64, f64) -> f64| move |g: f64, h: f64| 0.5 * c(g, h);
    agree(&[
        ("quadrant", lm63("", 1, &rows, &span(0.0, 90.0), twofold)),
        ("half", lm63("", 1, &rows, &span(0.0, 180.0), twofold)),
        ("other half", lm63("", 1, &rows, &span(90.0, 270.0), twofold)),
        ("whole", lm63("", 1, &rows, &span(0.0, 360.0), twofold)),
        ("without 360", lm63("", 1, &rows, &span(0.0, 345.0), twofold)),
        ("Isym 4", eulumdat(4, &all, &span(0.0, 90.0), &rows, klm(twofold))),
        ("Isym 2", eulumdat(2, &all, &span(0.0, 180.0), &rows, klm(twofold))),
        ("Isym 3", eulumdat(3, &all, &span(270.0, 450.0), &rows, klm(twofold))),
        ("Isym 0", eulumdat(0, &all, &all, &rows, klm(twofold))),
    ]);
    agree(&[
        ("half", lm63("", 1, &rows, &span(0.0, 180.0), onefold)),
        ("whole", lm63("", 1, &rows, &span(0.0, 360.0), onefold)),
        ("Isym 2", eulumdat(2, &all, &span(0.0, 180.0), &rows, klm(onefold))),
        ("Isym 0", eulumdat(0, &all, &all, &rows, klm(onefold))),
    ]);
    // turned a quarter: mirrored about C90–C270 only
    let turned = |g: f64, c: f64| onefold(g, c + 90.0);
    agree(&[
        ("90 to 270", lm63("", 1, &rows, &span(90.0, 270.0), turned)),
        ("whole", lm63("", 1, &rows, &span(0.0, 360.0), turned)),
        (
            "Isym 3",
            eulumdat(3, &all, &span(270.0, 450.0), &rows, move |g, c| 0.5 * onefold(g, c + 90.0)),
        ),
    ]);
    let axial = |g: f64, _: f64| twofold(g, 45.0);
    agree(&[
        ("axial", lm63("", 1, &rows, &[0.0], axial)),
        ("whole", lm63("", 1, &rows, &span(0.0, 360.0), axial)),
        ("Isym 1", eulumdat(1, &all, &[0.0], &rows, move |g, _| 0.5 * twofold(g, 45.0))),
    ]);
}

/// Types A and B: an even half space is 2π, cos along the axis π; the same direction means the same
/// in all three.
#[test]
fn types_a_and_b() {
    let angles = steps(-90.0, 90.0, 2.0);
    for kind in [2, 3] {
        let file = photometric::parse(&lm63("", kind, &angles, &angles, |_, _| 100.0)).unwrap();
        near(file.lumens(), 200.0 * PI, 1e-3);
        // toward the axis: the product of both cosines, in either
        let lambert = |v: f64, h: f64| 100.0 * v.to_radians().cos() * h.to_radians().cos();
        let file = photometric::parse(&lm63("", kind, &angles, &angles, lambert)).unwrap();
        near(file.lumens(), 100.0 * PI, 2e-3);
        for d in [DVec3::new(0.3, 0.4, 0.5), DVec3::new(-0.5, 0.1, 0.4), DVec3::Z] {
            let d = d.normalize();
            near(file.toward(d), 100.0 * d.z, 2e-3);
        }
        assert_eq!(file.toward(DVec3::NEG_Z), 0.0);
        // a quarter stored stands for the whole
        let quarter = steps(0.0, 90.0, 2.0);
        let half = photometric::parse(&lm63("", kind, &quarter, &quarter, lambert)).unwrap();
        near(half.lumens(), file.lumens(), 1e-9);
        assert_eq!(half.goniometer, if kind == 2 { Goniometer::B } else { Goniometer::A });
    }
    // what is up in A at 30° is up in C at γ 30°, C90
    let up = |v: f64, _: f64| if v > 0.0 { 50.0 } else { 1.0 };
    let file = photometric::parse(&lm63("", 3, &angles, &angles, up)).unwrap();
    near(file.toward(DVec3::new(0.0, 0.5, 0.75f64.sqrt())), 50.0, 1e-9);
}

/// Editions, multipliers, tilt, absolute photometry, openings.
#[test]
fn factors_and_editions() {
    let body = |tilt: &str, numbers: &str| format!("{tilt}\n{numbers}\n0 45 90\n0\n100 80 0\n");
    let read = |header: &str, tilt: &str, numbers: &str| {
        photometric::parse(&format!("{header}{}", body(tilt, numbers))).unwrap()
    };
    let plain = read("IESNA:LM-63-2002\n", "TILT=NONE", "1 500 1 3 1 1 2 0 0 0 1 1 40");
    assert_eq!((plain.peak(), plain.lamp_lumens, plain.watts), (100.0, Some(500.0), 40.0));
    assert_eq!(plain.opening, Opening::Point);
    // multiplier and ballast factor count; the twelfth number only in the oldest editions
    let numbers = "2 500 1.5 3 1 1 2 0 0 0 0.9 1.1 40";
    let new = read("IES:LM-63-2019\n", "TILT=NONE", numbers);
    assert!((new.peak() - 135.0).abs() < 1e-9);
    assert_eq!(new.lamp_lumens, Some(1000.0));
    assert!((read("IESNA91\n", "TILT=NONE", numbers).peak() - 148.5).abs() < 1e-9);
    assert!((read("any label\n", "TILT=NONE", numbers).peak() - 148.5).abs() < 1e-9, "1986");
    let absolute = read("IES:LM-63-2019\n", "TILT=NONE", "1 -1 1 3 1 1 1 -1 -1 0 1 1 40");
    assert_eq!(absolute.lamp_lumens, None);
    assert_eq!(absolute.opening, Opening::Round { diameter_m: 0.3048 });
    let sized = read("IES:LM-63-2019\n", "TILT=NONE", "1 -1 1 3 1 1 2 0.2 0.6 0 1 1 40");
    assert_eq!(sized.opening, Opening::Rectangular { width_m: 0.6, height_m: 0.2 });
    let tilted = read(
        "IES:LM-63-2019\n",
        "TILT=INCLUDE\n1\n3\n0 45 90\n1 0.9 0.7",
        "1 -1 1 3 1 1 2 0 0 0 1 1 40",
    );
    let tilt = tilted.tilt.unwrap();
    assert!((tilt.factor(0.0) - 1.0).abs() < 1e-12);
    assert!((tilt.factor(67.5) - 0.8).abs() < 1e-12);
    assert!((tilt.factor(170.0) - 0.7).abs() < 1e-12);
}

/// What is wrong, with its line.
#[test]
fn broken_files_name_the_line() {
    let good = "IESNA:LM-63-2002\nTILT=NONE\n1 500 1 3 1 1 2 0 0 0\n1 1 40\n0 45 90\n0\n100 80 0\n";
    assert!(photometric::parse(good).is_ok());
    for (from, to, line, told) in [
        ("TILT=NONE", "TILT=lamp.tlt", 2, "another file"),
        ("1 500 1 3", "1 five 1 3", 3, "`five` is no number"),
        ("1 500 1 3", "1 500 1 2.5", 3, "vertical angles is 2.5"),
        ("1 500 1 3", "1 500 1 30000", 3, "from 2 to 20000"),
        ("3 1 1 2 0", "3 1 7 2 0", 3, "photometric type is 7"),
        ("1 1 40", "-1 1 40", 4, "ballast factor is -1"),
        ("0 45 90", "0 90 45", 5, "90 to 45; they must grow"),
        ("0 45 90", "0 45 190", 5, "from 0 to 180"),
        ("\n0\n100", "\n17\n100", 6, "run from 17"),
        ("100 80 0", "100 -80 0", 7, "candela 2 of plane 1 is -80"),
        ("100 80 0", "100 1e300 0", 7, "no lamp has more"),
        ("100 80 0", "100 nan 0", 7, "`nan` is no number"),
        ("100 80 0", "100 80", 7, "ends before candela 3"),
    ] {
        let text = good.replacen(from, to, 1);
        assert_ne!(text, good, "{from}");
        let error = photometric::parse(&text).unwrap_err();
        assert_eq!(error.line, line, "{to}: {error}");
        assert!(error.to_string().contains(told), "{to}: {error}");
    }
    let rows = steps(0.0, 90.0, 45.0);
    let good = eulumdat(1, &[0.0, 90.0, 180.0, 270.0], &[0.0], &rows, |_, _| 100.0);
    assert!(photometric::parse(&good).is_ok());
    let replaced = |line: usize, with: &str| {
        let mut lines: Vec<&str> = good.lines().collect();
        lines[line - 1] = with;
        lines.join("\n")
    };
    for (line, with, told) in [
        (2, "IES", "neither kind of photometric file"),
        (3, "9", "the symmetry is 9"),
        (4, "x", "`x` is no number for the number of C planes"),
        (6, "", "the line is empty"),
        (26, "1.5", "lamp sets is 1.5"),
        (29, "-5", "the lamps' flux is -5"),
        (44, "0", "C angles go from 0 to 0"),
    ] {
        let error = photometric::parse(&replaced(line, with)).unwrap_err();
        assert!(error.line == line || error.line == line + 2, "{line}: {error}");
        assert!(error.to_string().contains(told), "{line}: {error}");
    }
    let cut: String = good.lines().take(40).collect::<Vec<_>>().join("\n");
    assert_eq!(photometric::parse(&cut).unwrap_err().line, 40);
    for empty in ["", "\n", "\u{feff}", "hello"] {
        assert!(photometric::parse(empty).is_err());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Cut, doubled, mangled files are an error or a luminaire; never a panic, never a total that
    /// is no number.
    #[test]
    fn hostile_files_never_panic(
        which in 0usize..4,
        cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 0..3),
        words in prop::collection::vec((any::<prop::sample::Index>(), prop::sample::select(vec![
            "0", "-1", "1", "3", "1e308", "-1e308", "NaN", "inf", "99999999999", "20000", "0.5", "x",
            "TILT=INCLUDE", "", "\u{0}", "é", "1,5", "360", "180", "1e-300",
        ])), 0..6),
    ) {
        let rows = steps(0.0, 90.0, 15.0);
        let text = match which {
            0 => lm63("IESNA:LM-63-2002\n", 1, &rows, &steps(0.0, 90.0, 15.0), twofold),
            1 => lm63("", 2, &steps(-90.0, 90.0, 30.0), &steps(-90.0, 90.0, 30.0), |_, _| 5.0),
            2 => eulumdat(2, &steps(0.0, 345.0, 15.0), &steps(0.0, 180.0, 15.0), &rows, onefold),
            _ => eulumdat(3, &steps(0.0, 345.0, 15.0), &steps(270.0, 450.0, 15.0), &rows, onefold),
        };
        let mut lines: Vec<String> = text.lines().map(String::from).collect();
        for (at, word) in words {
            let line = at.index(lines.len());
            let mut parts: Vec<String> = lines[line].split(' ').map(String::from).collect();
            let part = at.index(parts.len());
            parts[part] = word.into();
            lines[line] = parts.join(" ");
        }
        let mut text = lines.join("\n");
        for (from, to) in cuts {
            let letters: Vec<char> = text.chars().collect();
            if letters.is_empty() { break; }
            let (a, b) = (from.index(letters.len()), to.index(letters.len()));
            text = letters[..a.min(b)].iter().chain(&letters[a.max(b)..]).collect();
        }
        match photometric::parse(&text) {
            Err(error) => prop_assert!(error.line >= 1 && !error.problem.is_empty()),
            Ok(file) => {
                prop_assert!(file.lumens().is_finite());
                for k in 0..20 {
                    let d = DVec3::new((f64::from(k)).sin(), (2.0 * f64::from(k)).cos(), 0.3 * f64::from(k) - 3.0);
                    prop_assert!(file.toward(d.normalize()) >= 0.0);
                }
                let _ = file.full_angle_deg(0.5);
            }
        }
    }

    /// So are files of any bytes.
    #[test]
    fn any_text_is_answered(text in "\\PC{0,400}", tilt in any::<bool>()) {
        let text = if tilt { format!("TILT=NONE\n{text}") } else { text };
        let _ = photometric::parse(&text);
    }
}

//! Reading and writing plans: shipped ones, made-up ones, and mangled ones.

use foreshadow::plan::shipped::SHIPPED;
use foreshadow::plan::units::{Length, LengthUnit};
use foreshadow::plan::{self, Plan, *};
use proptest::prelude::*;

#[test]
fn shipped_plans_read_and_round_trip() {
    for shipped in SHIPPED {
        let first = plan::parse(shipped.text, shipped.name).unwrap_or_else(|e| panic!("{e}"));
        round_trips(&first);
    }
}

#[test]
fn every_scene_ships_and_says_what_it_teaches() {
    for entry in std::fs::read_dir("scenes").unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(
            SHIPPED.iter().any(|shipped| shipped.text == text),
            "{} is not among the shipped plans",
            path.display()
        );
        let head: Vec<_> = text.lines().take_while(|line| line.starts_with("// ")).collect();
        assert_eq!(
            head.len(),
            2,
            "{} opens with two lines that say what it teaches",
            path.display()
        );
    }
}

#[test]
fn the_plan_in_the_readme_reads() {
    let readme = std::fs::read_to_string("README.md").unwrap();
    let example =
        readme.split("```ron\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    round_trips(&plan::parse(example, "README.md").unwrap_or_else(|e| panic!("{e}")));
}

#[test]
fn files_are_replaced_whole_and_refusals_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("my.ron");
    let mut set = plan::parse(SHIPPED[0].text, "shipped").unwrap();
    plan::write(&set, &path).unwrap();
    set.camera.iso = 200.0;
    plan::write(&set, &path).unwrap();
    assert_eq!(plan::read(&path).unwrap(), set);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing left beside it");
    for bad in [folder.path().to_owned(), folder.path().join("none/my.ron"), "/proc/my.ron".into()]
    {
        let error = plan::write(&set, &bad).unwrap_err().to_string();
        assert!(error.starts_with(&format!("{}: cannot write", bad.display())), "{error}");
    }
}

#[test]
fn feet_and_fractions_are_written_as_they_were() {
    let text = "(format: 1, lights: [(name: \"key\", power: \"1/4 + 1/3\", \
                place: Stand(azimuth: 30, distance: \"6ft 6in\", height: \"7 ft\"))], \
                camera: (aperture: \"f/5.6\", shutter: \"1/160\"))";
    let written = plan::to_text(&plan::parse(text, "feet").unwrap()).unwrap();
    for kept in ["\"1/4 + 1/3\"", "\"6ft 6in\"", "\"7ft\"", "\"f/5.6\"", "\"1/160\""] {
        assert!(written.contains(kept), "{kept} in\n{written}");
    }
}

fn round_trips(set: &Plan) {
    let text = plan::to_text(set).unwrap();
    let again = plan::parse(&text, "written").unwrap_or_else(|e| panic!("{e}\n{text}"));
    assert_eq!(*set, again, "\n{text}");
    assert_eq!(text, plan::to_text(&again).unwrap(), "stable order");
}

fn length(low: f64, high: f64) -> impl Strategy<Value = Length> {
    (low..high, any::<bool>()).prop_map(|(metres, feet)| match feet {
        true => Length::feet(metres / 0.3048),
        false => Length { metres, unit: LengthUnit::Metric },
    })
}

fn name() -> impl Strategy<Value = String> {
    "[a-zäß][a-z0-9_-]{0,8}".prop_filter("kept for readings", |name| {
        let kept = ["ambient", "total", "face", "chest", "hips", "feet", "crown", "chin"];
        !kept.contains(&name.as_str())
    })
}

/// Greys of any reflectance, and colours that leave the reflectance to the colour itself.
fn paint() -> impl Strategy<Value = Paint> {
    prop_oneof![
        (0.0..0.98).prop_map(Paint::grey),
        "#[0-9a-e][0-9a-f][0-9a-e][0-9a-f][0-9a-e][0-9a-f]"
            .prop_map(|color| Paint { reflectance: None, color }),
    ]
}

fn place() -> impl Strategy<Value = Place> {
    prop_oneof![
        (-180.0..180.0, -30.0..80.0, length(0.3, 4.0)).prop_map(
            |(azimuth, elevation, distance)| {
                Place::Around { azimuth, elevation, distance, of: Target::Chest }
            }
        ),
        (-180.0..180.0, length(0.0, 1.5), length(0.1, 2.5))
            .prop_map(|(azimuth, distance, height)| Place::Stand { azimuth, distance, height }),
        (length(-2.0, 2.0), length(0.1, 2.0), length(-1.5, 2.0)).prop_map(|(x, y, z)| Place::At {
            x,
            y,
            z
        }),
    ]
}

fn target() -> impl Strategy<Value = Target> {
    prop_oneof![
        Just(Target::Face),
        Just(Target::Ceiling),
        (length(-2.0, 2.0), length(0.1, 2.0), length(-1.5, 2.0))
            .prop_map(|(x, y, z)| Target::Point { x, y, z }),
        (-180.0..180.0, -80.0..80.0).prop_map(|(azimuth, tilt)| Target::Toward { azimuth, tilt }),
    ]
}

fn modifier() -> impl Strategy<Value = Modifier> {
    prop_oneof![
        (length(0.01, 0.3), length(0.02, 0.5))
            .prop_map(|(diameter, length)| Modifier::BareTube { diameter, length }),
        (length(0.1, 2.0), 5.0..80.0, 1.1..2.0, 0.0..3.0).prop_map(
            |(diameter, beam, wider, loss)| {
                Modifier::Dish { diameter, beam, field: beam * wider, loss }
            }
        ),
        (length(0.1, 2.0), length(0.1, 2.0), 0.0..3.0)
            .prop_map(|(width, height, loss)| Modifier::Panel { width, height, loss }),
    ]
}

fn gel() -> impl Strategy<Value = Option<Gel>> {
    prop_oneof![
        Just(None),
        (-200.0..200.0, 0.05..1.0).prop_map(|(shift, transmission)| Some(Gel::Mired {
            shift,
            transmission: Some(transmission)
        })),
        (-200.0..200.0).prop_map(|shift| Some(Gel::Mired { shift, transmission: None })),
        ("#[0-9a-f]{6}", 0.05..1.0)
            .prop_map(|(color, transmission)| Some(Gel::Color { color, transmission })),
    ]
}

fn light() -> impl Strategy<Value = Light> {
    let output = prop_oneof![
        (1.0..100.0).prop_map(Output::GuideNumber),
        (10.0..60.0).prop_map(|lm_s_per_ws| Output::Efficacy { lm_s_per_ws }),
        (1.0..32.0, length(0.5, 5.0), -7.0..0.0).prop_map(|(f_number, distance, stops)| {
            let aperture = Aperture { f_number };
            Output::Reading { aperture, distance, iso: 100.0, power: Power { stops } }
        }),
    ];
    let power = prop_oneof![
        (-9.0..0.0).prop_map(|stops| Power { stops }),
        (-27i32..=0).prop_map(|thirds| Power { stops: f64::from(thirds) / 3.0 }),
    ];
    let head = (50.0..2000.0, output, 2000.0..9000.0).prop_map(|(energy_ws, output, kelvin)| {
        Head { energy_ws, output, kelvin, ..Head::default() }
    });
    (name(), any::<bool>(), power, head, modifier(), gel(), place(), target()).prop_map(
        |(name, fixture, power, head, modifier, gel, place, aim)| Light {
            name,
            on: true,
            power,
            head,
            modifier,
            grid: None,
            doors: None,
            cloth: None,
            gel,
            place,
            aim,
            fixture,
        },
    )
}

prop_compose! {
    fn any_plan()(
        title in "\\PC{0,30}",
        note in "(\\PC{0,20}\n?){0,4}",
        walls in paint(),
        lights in prop::collection::vec(light(), 1..4),
        board in (name(), paint(), place(), target(), -90.0..90.0),
        sitter in prop::option::of((length(1.3, 2.0), -1.0..1.0, 1u8..=10, -90.0..90.0)),
        ev in prop::option::of(-5.0..15.0),
        aperture in 0.9f64..64.0,
        shutter in prop_oneof![(1u32..8000).prop_map(|n| 1.0 / f64::from(n)), 0.001..2.0],
        iso in 25.0..12800.0,
    ) -> Plan {
        let mut set = plan::parse("(format: 1, ambient: (ev: 5))", "base").unwrap();
        set.title = title;
        set.note = note;
        set.room.walls = walls;
        for (number, mut light) in lights.into_iter().enumerate() {
            light.name += &number.to_string();
            set.lights.push(light);
        }
        let (name, paint, place, aim, roll) = board;
        set.boards.push(Board {
            name,
            kind: BoardKind::Reflector(paint),
            width: Length::metres(1.0),
            height: Length::feet(3.5),
            place,
            aim,
            roll,
            round: false,
            fold: None,
            back: None,
        });
        set.sitter = sitter.map(|(height, build, skin, turn)| Sitter {
            height, build, skin, turn, ..Sitter::default()
        });
        set.ambient = ev.map(|ev| Ambient { ev, kelvin: 3000.0 });
        set.camera.aperture = Aperture { f_number: aperture };
        set.camera.shutter = Shutter { seconds: shutter };
        set.camera.iso = iso;
        set
    }
}

/// A change to a text: bytes flipped, parts swapped, doubled or cut, numbers blown up.
#[derive(Debug, Clone)]
enum Mangle {
    Byte(prop::sample::Index, u8),
    Cut(prop::sample::Index, usize),
    Double(prop::sample::Index, usize),
    Swap(prop::sample::Index, prop::sample::Index),
    Insert(prop::sample::Index, &'static str),
}

fn mangle() -> impl Strategy<Value = Mangle> {
    let at = any::<prop::sample::Index>;
    let explosive = prop::sample::select(vec![
        "1e999",
        "-1",
        "0",
        "NaN",
        "inf",
        "-inf",
        "99999999999999999999999999",
        "1_0",
        "0x",
        "Some(",
        "((((",
        "[[",
        "))",
        "\"",
        "r#\"",
        "/*",
        "//",
        "\\u{110000}",
        "'",
        "b\"",
        "\u{feff}",
        "é",
        "🙂",
        "#![enable(unwrap_newtypes)]",
        "()",
        "{}",
        ":",
        ",,",
        "..",
    ]);
    prop_oneof![
        (at(), any::<u8>()).prop_map(|(i, b)| Mangle::Byte(i, b)),
        (at(), 1usize..200).prop_map(|(i, n)| Mangle::Cut(i, n)),
        (at(), 1usize..200).prop_map(|(i, n)| Mangle::Double(i, n)),
        (at(), at()).prop_map(|(i, j)| Mangle::Swap(i, j)),
        (at(), explosive).prop_map(|(i, text)| Mangle::Insert(i, text)),
    ]
}

/// Byte ranges of words and marks.
fn words(bytes: &[u8]) -> Vec<std::ops::Range<usize>> {
    let mut words: Vec<std::ops::Range<usize>> = Vec::new();
    let is_word = |b: u8| b.is_ascii_alphanumeric() || b"_.\"#-".contains(&b);
    for (at, byte) in bytes.iter().enumerate() {
        match words.last_mut() {
            Some(word) if is_word(*byte) && word.end == at && is_word(bytes[word.start]) => {
                word.end = at + 1;
            }
            _ if !byte.is_ascii_whitespace() => words.push(at..at + 1),
            _ => {}
        }
    }
    words
}

fn apply(bytes: &mut Vec<u8>, change: &Mangle) {
    if bytes.is_empty() {
        return;
    }
    match change {
        Mangle::Byte(at, byte) => {
            let at = at.index(bytes.len());
            bytes[at] = *byte;
        }
        Mangle::Cut(at, count) => {
            let at = at.index(bytes.len());
            bytes.drain(at..(at + count).min(bytes.len()));
        }
        Mangle::Double(at, count) => {
            let at = at.index(bytes.len());
            let part = bytes[at..(at + count).min(bytes.len())].to_vec();
            bytes.splice(at..at, part);
        }
        Mangle::Swap(a, b) => {
            let words = words(bytes);
            if words.is_empty() {
                return;
            }
            let (a, b) = (words[a.index(words.len())].clone(), words[b.index(words.len())].clone());
            let (a, b) = if a.start <= b.start { (a, b) } else { (b, a) };
            if a.end <= b.start {
                let (first, second) = (bytes[a.clone()].to_vec(), bytes[b.clone()].to_vec());
                bytes.splice(b, first);
                bytes.splice(a, second);
            }
        }
        Mangle::Insert(at, text) => {
            let words = words(bytes);
            if !words.is_empty() {
                let at = words[at.index(words.len())].clone();
                bytes.splice(at, text.bytes());
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is written reads back the same.
    #[test]
    fn plans_round_trip(set in any_plan()) {
        prop_assert_eq!(plan::check::check(&set), vec![]);
        round_trips(&set);
    }

    /// Whatever happens to a plan's text, the reader answers: a plan that can be kept, or one
    /// error with a line that is there.
    #[test]
    fn mangled_plans_are_answered(changes in prop::collection::vec(mangle(), 1..6)) {
        let mut bytes = SHIPPED[0].text.as_bytes().to_vec();
        for change in &changes {
            apply(&mut bytes, change);
        }
        let text = String::from_utf8_lossy(&bytes);
        match plan::parse(&text, "mangled.ron") {
            Ok(set) => round_trips(&set),
            Err(error) => {
                let told = error.to_string();
                prop_assert!(told.starts_with("mangled.ron:") && told.contains("hint: "), "{}", told);
                if let PlanError::Text { faults, .. } = error {
                    let lines = text.lines().count().max(1);
                    prop_assert!(!faults.is_empty());
                    prop_assert!(faults.iter().all(|f| (1..=lines + 1).contains(&f.line)), "{}", told);
                }
            }
        }
    }
}

/// Everything that a light, a board and a room may carry survives the file.
#[test]
fn modifiers_boards_and_rooms_round_trip() {
    let at = "place: At(x: 0.5, y: 2, z: 1)";
    let lights = [
        "modifier: ShortDish(), grid: 20.0",
        "modifier: LongThrow(loss: 0.9), doors: (top: -10.0, length: \"20 cm\")",
        "cloth: (diameter: 0.3), head: (class: Pack2400, count: 2, energy_ws: 1000.0)",
        "modifier: BeautyDish(deflector: 0.2), head: (tube: (share: 0.4), step: Third)",
        "modifier: Ring(), head: (output: Lux(lux: 900.0, distance: 2.0))",
        "modifier: Snoot(length: 0.3), gel: Mired(shift: 131.0)",
        "modifier: LensSpot(shutters: (left: 0.2, bottom: 0.1), focus: \"8 ft\")",
        "modifier: SoftBox(recess: 0.1, hot: 1.0), head: (drift: [(power: \"1/8\", kelvin: 5450.0)])",
        "modifier: Octagon(diameter: 1.5), head: (recycle_s: 1.4, modelling_w: 100.0)",
        "modifier: BounceUmbrella(), head: (output: Lumens(9000.0))",
        "modifier: ShootThrough(spill: 0.5), head: (output: Candela(700.0))",
        "modifier: Scrim(behind: 1.5), head: (class: Lamp150)",
        "modifier: Lantern(), fixture: false",
        "modifier: Photometric(file: \"lamp.ies\", diameter: 0.2), head: (output: AsFiled)",
    ];
    let boards = [
        "kind: Net(stops: 1.0), round: true",
        "kind: White, fold: 100.0, back: (reflectance: 0.04)",
        "kind: Silver",
        "kind: Gold",
        "kind: Black",
        "kind: CutOut(Shapes(holes: [Circle(diameter: 0.1), Slot(x: 0.2, width: 0.1, height: 0.3, turn: 20.0), Outline([(-0.3, 0.0), (-0.2, 0.0), (-0.2, 0.1)])]))",
        "kind: CutOut(Picture(file: \"fern.png\", by: Alpha, level: 0.4, invert: true))",
    ];
    let list = |items: &[&str], more: &str| -> String {
        let item = |(n, fields): (usize, &&str)| format!("(name: \"n{n}\", {fields}, {at}{more}),");
        items.iter().enumerate().map(item).collect()
    };
    let text = format!(
        "(format: 1, lights: [{}], boards: [{}], \
         lamps: [(name: \"globe\", {at}, level: Lumens(800.0)), (name: \"spot\", {at}, form: Spot(diameter: 0.1, beam: 30.0, field: 50.0), aim: Chest, level: Ev(4.0), kelvin: 2700.0)], \
         windows: [(name: \"north\", wall: Left, width: 1.2, height: 1.4, panes: (2, 3), sky: Clear(sun_azimuth: 10.0, sun_elevation: 30.0), ev: 8.0)])",
        list(&lights, ""),
        list(&boards, ", width: 0.9, height: 0.9")
    );
    let first = plan::parse(&text, "first").unwrap_or_else(|error| panic!("{error}"));
    let written = plan::to_text(&first).unwrap();
    let second =
        plan::parse(&written, "second").unwrap_or_else(|error| panic!("{error}\n{written}"));
    assert_eq!(first, second);
    assert_eq!(plan::to_text(&second).unwrap(), written);
    // what a class gives is not written out, nor are other defaults
    assert!(!written.contains("lm_s_per_ws") && !written.contains("deflector: 0.15"), "{written}");
    assert!(written.contains("energy_ws: 1000"), "{written}");
}

/// A head's colour between the powers where it is known; a class's figures; a gel's usual loss.
#[test]
fn heads_and_gels() {
    use foreshadow::plan::HeadClass;
    let mut head = Head::of(HeadClass::Studio600);
    assert_eq!((head.energy_ws, head.lowest.stops), (600.0, -8.0));
    assert_eq!(head.kelvin_at(Power { stops: -3.0 }), 5600.0);
    let text = "(format: 1, lights: [(name: \"a\", place: At(x: 0, y: 1, z: 1), \
                head: (kelvin: 5600, drift: [(power: -6, kelvin: 5300), (power: \"1/8\", kelvin: 5450)]))])";
    head = plan::parse(text, "drift").unwrap().lights.remove(0).head;
    for (stops, kelvin) in
        [(0.0, 5600.0), (-1.5, 5525.0), (-3.0, 5450.0), (-4.5, 5375.0), (-8.0, 5300.0)]
    {
        let got = head.kelvin_at(Power { stops });
        assert!((got - kelvin).abs() < 1e-9, "{stops}: {got}");
    }
    // the colour-meter maker's table: 85B +131 mired costs 2/3 stop, 80A -131 costs 2
    for (shift, loss) in [(131.0, 2.0 / 3.0), (-131.0, 2.0), (0.0, 0.0)] {
        let got = Gel::Mired { shift, transmission: None }.loss_stops();
        assert!((got - loss).abs() < 1e-12, "{shift}: {got}");
    }
    let half = Gel::Mired { shift: 50.0, transmission: Some(0.5) };
    assert!((half.loss_stops() - 1.0).abs() < 1e-12);
}

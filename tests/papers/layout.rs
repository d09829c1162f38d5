//! No text overlaps, nothing is clipped, nothing is too small to read; measured on the drawn pages.

use foreshadow::papers::draw;
use foreshadow::papers::page::{MM_PER_PT, Page, Paper, SMALLEST_PT};
use foreshadow::papers::sheet::{self, Units};
use foreshadow::plan::{self, Plan};
use foreshadow::stage;
use resvg::usvg::{self, Group, Node};

use super::{record, shipped_plan};

/// What rounding of a thousandth of a millimetre may add up to.
const SLACK_MM: f32 = 0.05;

/// A text as the renderer lays it: its words, its box and its size in millimetres.
struct Drawn {
    words: String,
    bounds: usvg::Rect,
    size: f32,
}

fn texts(group: &Group, mm: f32, found: &mut Vec<Drawn>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => texts(inner, mm, found),
            Node::Text(text) => {
                let words = text.chunks().iter().map(|chunk| chunk.text()).collect();
                let sizes = text.chunks().iter().flat_map(|chunk| chunk.spans());
                // the group that scales the page scales the type with it
                let scale = text.abs_transform().sy;
                let size = sizes.map(|span| span.font_size().get()).fold(f32::MAX, f32::min);
                found.push(Drawn {
                    words,
                    bounds: text.abs_bounding_box(),
                    size: size * scale * mm,
                });
            }
            _ => {}
        }
    }
}

/// Every fault of some pages, in words.
fn faults(pages: &[Page], what: &str) -> Vec<String> {
    let mut faults = Vec::new();
    for (number, page) in pages.iter().enumerate() {
        let tree = draw::tree(page).expect("the page is good SVG");
        let mm = page.width_mm as f32 / tree.size().width();
        let mut found = Vec::new();
        texts(tree.root(), mm, &mut found);
        // what runs over onto a last page may be a line or two under its head
        let least = if number < 2 { 20 } else { 3 };
        assert!(found.len() > least, "{what}: page {} is empty", number + 1);
        let place = format!("{what}, page {}", number + 1);
        let slack = SLACK_MM / mm;
        for (index, one) in found.iter().enumerate() {
            let (b, words) = (one.bounds, &one.words);
            let inside = b.left() >= -slack
                && b.top() >= -slack
                && b.right() <= tree.size().width() + slack
                && b.bottom() <= tree.size().height() + slack;
            if !inside {
                faults.push(format!("{place}: \"{words}\" leaves the page"));
            }
            let points = f64::from(one.size) / MM_PER_PT;
            if points < SMALLEST_PT - 0.01 {
                faults.push(format!("{place}: \"{words}\" has {points:.1} points"));
            }
            for other in &found[..index] {
                let o = other.bounds;
                let across = b.right().min(o.right()) - b.left().max(o.left());
                let down = b.bottom().min(o.bottom()) - b.top().max(o.top());
                if across > slack && down > slack {
                    faults.push(format!("{place}: \"{words}\" lies over \"{}\"", other.words));
                }
            }
        }
        // what the drawings clip must not be words
        for text in page.texts() {
            let bounds = text.bounds();
            let margin = 4.0;
            let held = bounds.min.x >= margin
                && bounds.min.y >= margin
                && bounds.max.x <= page.width_mm - margin
                && bounds.max.y <= page.height_mm - margin;
            if !held {
                faults.push(format!("{place}: \"{}\" is in the printer's margin", text.words));
            }
        }
    }
    faults
}

/// Every word of a record's lights is somewhere on the pages.
fn named(pages: &[Page], names: &[&str]) -> Vec<String> {
    let all: Vec<&str> =
        pages.iter().flat_map(Page::texts).map(|text| text.words.as_str()).collect();
    let lacks = |name: &&&str| !all.iter().any(|words| words.contains(**name));
    names.iter().filter(lacks).map(|name| format!("no page names {name}")).collect()
}

/// `count` heads close together on one side, with long names; the hardest case for labels.
fn crowd(count: usize) -> Plan {
    let light = |k: usize| {
        let (azimuth, distance) = (-70.0 + 9.0 * k as f64, 1.9 + 0.12 * (k % 3) as f64);
        let modifier = match k % 3 {
            0 => "Dish(diameter: \"18 cm\", beam: 55, field: 85)",
            1 => "Panel(width: 0.6, height: 0.9)",
            _ => "BareTube()",
        };
        let aim = ["Face", "Ceiling", "Named(\"crate with a rather long name\")"][k % 3];
        let gel = if k % 4 == 1 { "gel: Mired(shift: 131, transmission: 0.6)," } else { "" };
        format!(
            "(name: \"{} of the crowd\", power: -{}, modifier: {modifier}, {gel} aim: {aim},
              place: Stand(azimuth: {azimuth}, distance: {distance}, height: {})),",
            ["key", "fill", "rim", "hair light", "kicker"][k % 5].to_owned() + &k.to_string(),
            2 + k % 5,
            1.5 + 0.07 * k as f64
        )
    };
    let lights: String = (0..count).map(light).collect();
    let text = format!(
        "(format: 1, title: \"A crowd of {count} & more <heads>\",
          room: (width: 6, depth: 7),
          boxes: [(name: \"crate with a rather long name\", width: 0.6, height: 1.2, depth: 0.5)],
          lights: [{lights}],
          boards: [(name: \"flag\", kind: Flag, width: 0.6, height: 0.9,
                    place: Stand(azimuth: -30, distance: 1.2, height: 1.6))],
          ambient: (ev: 5))"
    );
    plan::parse(&text, "crowd").unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn one_to_twelve_lights_have_their_places() {
    let mut found = Vec::new();
    for count in 1..=12 {
        let plan = crowd(count);
        let stage = stage::build(&plan).unwrap();
        let (units, paper) = match count % 3 {
            0 => (Units::Feet, Paper::Letter),
            1 => (Units::Metres, Paper::A4),
            _ => (Units::Metres, Paper::A3),
        };
        let setup = record(&plan, &stage, units);
        let pages = sheet::pages(&setup, &stage, paper);
        found.extend(faults(&pages, &format!("{count} lights")));
        let names: Vec<&str> = plan.lights.iter().map(|light| light.name.as_str()).collect();
        found.extend(named(&pages[1..], &names));
        // the drawings have a label for each light
        let labels = pages[0].texts();
        for light in &setup.lights {
            let label = format!("{}  {}", light.number, &light.name[..4]);
            let times = labels.iter().filter(|text| text.words.starts_with(&label)).count();
            if times != 2 {
                found.push(format!("{count} lights: {label} has {times} labels, not 2"));
            }
        }
    }
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

#[test]
fn shipped_scenes_have_clean_sheets() {
    let mut found = Vec::new();
    for name in ["lamplighter", "quarryman", "night-ferry", "attic"] {
        let plan = shipped_plan(name);
        let stage = stage::build(&plan).unwrap();
        let setup = record(&plan, &stage, Units::Metres);
        found.extend(faults(&sheet::pages(&setup, &stage, Paper::A4), name));
    }
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

/// Two lines that share their place must be found out, or the tests above say nothing.
#[test]
fn an_overlap_is_found() {
    let mut page = Page::new([200.0, 100.0]);
    for k in 0..25 {
        let at = glam::DVec2::new(10.0 + 40.0 * f64::from(k % 4), 10.0 + 10.0 * f64::from(k / 4));
        page.text(foreshadow::papers::page::Text::new(at, 8.0, format!("word {k}")));
    }
    assert!(faults(std::slice::from_ref(&page), "good").is_empty());
    let at = glam::DVec2::new(12.0, 11.0);
    page.text(foreshadow::papers::page::Text::new(at, 8.0, "over it"));
    let at = glam::DVec2::new(195.0, 50.0);
    page.text(foreshadow::papers::page::Text::new(at, 5.0, "out of the page"));
    let found = faults(std::slice::from_ref(&page), "bad");
    assert!(found.iter().any(|fault| fault.contains("lies over")), "{found:?}");
    assert!(found.iter().any(|fault| fault.contains("leaves the page")), "{found:?}");
    assert!(found.iter().any(|fault| fault.contains("5.0 points")), "{found:?}");
}

//! The names on a drawing: what each says, and the lines that lead to what they name.

use glam::{DVec2, Vec3};

use super::{Drawing, NAME_PT, SMALL_PT, View, degrees};
use crate::papers::page::{Bounds, Ink, MM_PER_PT, Mark, Pen, Text, line, rectangle};
use crate::papers::sheet::label::{self, Wanted};
use crate::papers::typeface::{DESCENT_EM, fitted, leading_mm, width_mm};

/// A label before it has its place.
struct Name {
    anchor: DVec2,
    lines: Vec<Line>,
    /// With a line round it.
    boxed: bool,
}

/// A line of a label.
struct Line {
    words: String,
    size_pt: f64,
    bold: bool,
}

impl Line {
    fn new(words: impl Into<String>, size_pt: f64, bold: bool) -> Self {
        Self { words: words.into(), size_pt, bold }
    }
}

/// Between a label's box and its words, millimetres.
const PAD_MM: f64 = 0.7;

impl Drawing<'_> {
    /// Names lights with their heights, boards, camera, cloth, boxes and tape points.
    pub(super) fn labels(&mut self) {
        // no name may be wider than a third of the drawing
        let most = self.frame.size().x / 3.0;
        let (mut names, mut placed) = self.placed(self.names(), most);
        let lights = self.setup.lights.len();
        if placed[..lights].contains(&None) {
            // too crowded: one short line a light, as the table has the rest
            let mut short = self.names();
            short[..lights].iter_mut().for_each(|name| name.lines.truncate(1));
            (names, placed) = self.placed(short, 0.5 * most);
        }
        for (name, bounds) in names.iter().zip(placed) {
            let Some(bounds) = bounds else { continue };
            let (from, to) = label::lead(name.anchor, bounds);
            if from.distance(to) > 1.0 {
                self.marks.push(line(&[from, to], Pen::new(0.15, Ink::Grey(40))));
                let dot =
                    Mark::Circle { centre: from, radius: 0.35, pen: None, fill: Some(Ink::BLACK) };
                self.marks.push(dot);
            }
            let pen = name.boxed.then_some(Pen::new(0.2, Ink::BLACK));
            self.marks.push(rectangle(bounds, pen, Some(Ink::WHITE)));
            let mut base = bounds.min.y + PAD_MM - 0.3;
            for line in &name.lines {
                base += leading_mm(line.size_pt);
                let drop = DESCENT_EM * line.size_pt * MM_PER_PT * 0.8;
                let at = DVec2::new(bounds.min.x + PAD_MM, base - drop);
                let mut text = Text::new(at, line.size_pt, line.words.clone());
                text.bold = line.bold;
                self.marks.push(Mark::Text(text));
            }
            self.fixed.push(bounds);
        }
    }

    /// The names cut to a width, and their boxes.
    fn placed(&self, mut names: Vec<Name>, most: f64) -> (Vec<Name>, Vec<Option<Bounds>>) {
        for line in names.iter_mut().flat_map(|name| &mut name.lines) {
            line.words = fitted(&line.words, line.size_pt, line.bold, most);
        }
        let size = |name: &Name| {
            let wide = |line: &Line| width_mm(&line.words, line.size_pt, line.bold);
            let widest = name.lines.iter().map(wide).fold(0.0, f64::max);
            let high: f64 = name.lines.iter().map(|line| leading_mm(line.size_pt)).sum();
            DVec2::new(widest + 2.0 * PAD_MM, high + 2.0 * PAD_MM - 0.3)
        };
        let wanted: Vec<Wanted> =
            names.iter().map(|name| Wanted { anchor: name.anchor, size: size(name) }).collect();
        let frame = self.frame.grown(-0.5);
        let placed = label::place(&wanted, &self.fixed, &self.soft, frame);
        (names, placed)
    }

    fn names(&self) -> Vec<Name> {
        let units = self.setup.units;
        let mut names = Vec::new();
        for light in &self.setup.lights {
            let off = if light.on { "" } else { " (off)" };
            let high = units.length(light.spot.height_m);
            let under = match self.view {
                View::Plan => format!("{high} high"),
                View::Side => format!("{high} high, tilt {}", degrees(light.aim.tilt_deg)),
            };
            names.push(Name {
                anchor: self.spot(&light.spot),
                lines: vec![
                    Line::new(format!("{}  {}{off}", light.number, light.name), NAME_PT, true),
                    Line::new(under, SMALL_PT, false),
                ],
                boxed: true,
            });
        }
        let plain = |anchor: DVec2, name: &str| Name {
            anchor,
            lines: vec![Line::new(name, SMALL_PT, false)],
            boxed: false,
        };
        names.extend(self.setup.boards.iter().map(|one| plain(self.spot(&one.spot), &one.name)));
        let camera = self.setup.camera.spot;
        let height = format!("lens {} high", units.length(camera.height_m));
        names.push(Name {
            anchor: self.spot(&camera),
            lines: vec![Line::new("camera", SMALL_PT, true), Line::new(height, SMALL_PT, false)],
            boxed: false,
        });
        for thing in self.setup.cloths.iter().chain(&self.setup.boxes) {
            if let Some(mark) = self.stage.marks.iter().find(|mark| mark.name == thing.name) {
                names.push(plain(self.at(mark.position), &thing.name));
            }
        }
        if self.view == View::Plan {
            names.extend(self.setup.tape.iter().map(|point| Name {
                anchor: self.at(Vec3::new(point.x_m as f32, 0.0, point.z_m as f32)),
                lines: vec![Line::new(&point.name, NAME_PT, true)],
                boxed: true,
            }));
        }
        names
    }
}

//! The two drawings of a sheet: the plan from above and the side view, to scale.
//!
//! ```text
//!   plan                       side, from camera right
//!    ┌── back wall ──┐          ┌── ceiling ──────┐
//!    │    sitter     │          │camera     sitter│ cloth
//!    │    camera     │          └── floor ────────┘
//!    └───────────────┘
//! ```
//! Outlines are those of the rendered stage. The compass's needle points to the camera: azimuth 0.

mod names;

use glam::{DVec2, Vec3};

use super::outline::outline;
use super::record::SetUp;
use crate::papers::page::{
    Anchor, Bounds, Ink, MM_PER_PT, Mark, Page, Pen, SMALLEST_PT, Text, line, rectangle,
};
use crate::papers::typeface::{ASCENT_EM, fitted, leading_mm};
use crate::stage::{Mesh, Role, Stage};

/// Scales that a drawing may have, 1 to so many.
const SCALES: [f64; 20] = [
    10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 75.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0,
    400.0, 500.0, 750.0, 1000.0, 2500.0,
];
/// Kept round the drawn room: for the grid's numbers left and below, and for the wall's own width.
const LEFT_MM: f64 = 8.5;
const BELOW_MM: f64 = 6.5;
const EDGE_MM: f64 = 2.5;
/// Over the room in the side view, for labels.
const OVER_MM: f64 = 11.0;
/// Room under a drawing for its scale bar, millimetres.
const FOOT_MM: f64 = 9.0;
/// Text on drawings, points.
const NAME_PT: f64 = 8.0;
const SMALL_PT: f64 = SMALLEST_PT;

const HAIR: Pen = Pen::new(0.1, Ink::Grey(185));
const THIN: Pen = Pen::new(0.18, Ink::Grey(60));
const FIRM: Pen = Pen::new(0.3, Ink::BLACK);
const WALL: Pen = Pen::new(0.7, Ink::BLACK);

/// Which drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From above, the camera at the foot.
    Plan,
    /// From camera right, the camera at the left.
    Side,
}

impl View {
    /// World metres to the drawing's own: right and down.
    fn flatten(self, p: Vec3) -> DVec2 {
        match self {
            Self::Plan => DVec2::new(p.x.into(), p.z.into()),
            Self::Side => DVec2::new((-p.z).into(), (-p.y).into()),
        }
    }
}

/// What the drawing spans, metres in its own directions.
fn span(view: View, stage: &Stage) -> Bounds {
    let room = stage.room;
    let (a, b) = (view.flatten(room.min), view.flatten(room.max));
    Bounds { min: a.min(b), max: a.max(b) }
}

/// A drawing under way.
struct Drawing<'a> {
    view: View,
    stage: &'a Stage,
    setup: &'a SetUp,
    frame: Bounds,
    scale: f64,
    /// Page place of the mark.
    origin: DVec2,
    /// The room's outline on the page.
    room: Bounds,
    marks: Vec<Mark>,
    /// Texts that stand, and what labels had better not cover.
    fixed: Vec<Bounds>,
    soft: Vec<(Bounds, f64)>,
}

/// What a label that covers a mm² of these costs, in millimetres farther off.
const HEAD_COST: f64 = 1.5;
const LINE_COST: f64 = 0.6;
const BODY_COST: f64 = 0.12;

/// Draws a view into a part of the page; gives how far down it reaches.
pub fn draw(page: &mut Page, view: View, setup: &SetUp, stage: &Stage, place: Bounds) -> f64 {
    let title = match view {
        View::Plan => "Plan, from above",
        View::Side => "Side view, from camera right",
    };
    let top = place.min.y + leading_mm(NAME_PT);
    page.text(Text::new(DVec2::new(place.min.x, top - 1.0), NAME_PT, title).bold());
    let span = span(view, stage);
    let over = if view == View::Side { OVER_MM } else { EDGE_MM };
    let rim = DVec2::new(LEFT_MM + EDGE_MM, over + BELOW_MM);
    let room = place.max - DVec2::new(0.0, FOOT_MM) - DVec2::new(place.min.x, top) - rim;
    let fits = |scale: &f64| (span.size() * 1000.0 / *scale).cmple(room).all();
    let scale = SCALES.into_iter().find(fits).unwrap_or(5000.0);
    let size = span.size() * 1000.0 / scale;
    // what the room leaves free at the sides is shared, what it leaves below is given back
    let left = place.min.x + LEFT_MM + 0.5 * (room.x - size.x);
    let origin = DVec2::new(left, top + over) - span.min * 1000.0 / scale;
    let frame = Bounds {
        min: DVec2::new(place.min.x, top),
        max: DVec2::new(place.max.x, top + over + size.y + BELOW_MM),
    };
    let mm = 1000.0 / scale;
    let mut drawing = Drawing {
        view,
        stage,
        setup,
        frame,
        scale,
        origin,
        room: Bounds { min: origin + span.min * mm, max: origin + span.max * mm },
        marks: Vec::new(),
        fixed: Vec::new(),
        soft: Vec::new(),
    };
    drawing.grid();
    drawing.shell();
    drawing.things();
    drawing.camera();
    drawing.axes();
    drawing.points();
    drawing.labels();
    page.marks.push(Mark::Framed { frame, marks: std::mem::take(&mut drawing.marks) });
    drawing.foot(page, place);
    frame.max.y + FOOT_MM
}

impl Drawing<'_> {
    fn at(&self, p: Vec3) -> DVec2 {
        self.flat(self.view.flatten(p))
    }

    fn flat(&self, own: DVec2) -> DVec2 {
        self.origin + own * (1000.0 / self.scale)
    }

    fn spot(&self, spot: &super::record::Spot) -> DVec2 {
        self.at(Vec3::new(spot.x_m as f32, spot.height_m as f32, spot.z_m as f32))
    }

    /// Labels had better not lie on this line.
    fn keep(&mut self, from: DVec2, to: DVec2, cost: f64) {
        const EVERY_MM: f64 = 2.0;
        let steps = (from.distance(to) / EVERY_MM).ceil().max(1.0) as u32;
        for step in 0..=steps {
            let at = from.lerp(to, f64::from(step) / f64::from(steps));
            self.soft.push((Bounds { min: at - 0.8, max: at + 0.8 }, cost));
        }
    }

    fn fix(&mut self, text: Text) {
        self.fixed.push(text.bounds());
        self.marks.push(Mark::Text(text));
    }

    /// Lines a metre (or three feet) apart, numbered from the mark.
    fn grid(&mut self) {
        let step = self.setup.units.grid_m() * 1000.0 / self.scale;
        // numbers that would touch are left out
        let every = (7.0 / step).ceil().max(1.0) as i64;
        let em = SMALL_PT * MM_PER_PT;
        let range = |low: f64, high: f64, zero: f64| {
            ((low - zero) / step).ceil() as i64..=((high - zero) / step).floor() as i64
        };
        for number in range(self.room.min.x, self.room.max.x, self.origin.x) {
            let x = self.origin.x + number as f64 * step;
            let pen = if number == 0 { Pen::new(0.2, Ink::Grey(150)) } else { HAIR };
            self.marks
                .push(line(&[DVec2::new(x, self.room.min.y), DVec2::new(x, self.room.max.y)], pen));
            if number % every == 0 {
                // in the side view the camera's side is positive
                let shown = if self.view == View::Side { -number } else { number };
                let words = self.setup.units.grid_label(shown);
                let at = DVec2::new(x, self.room.max.y + 1.7 + ASCENT_EM * em);
                self.fix(
                    Text::new(at, SMALL_PT, words).anchored(Anchor::Middle).inked(Ink::Grey(60)),
                );
            }
        }
        for number in range(self.room.min.y, self.room.max.y, self.origin.y) {
            let y = self.origin.y + number as f64 * step;
            let pen = if number == 0 { Pen::new(0.2, Ink::Grey(150)) } else { HAIR };
            self.marks
                .push(line(&[DVec2::new(self.room.min.x, y), DVec2::new(self.room.max.x, y)], pen));
            if number % every == 0 {
                let shown = if self.view == View::Side { -number } else { number };
                let words = self.setup.units.grid_label(shown);
                let at = DVec2::new(self.room.min.x - 2.4, y + 0.35 * em);
                self.fix(Text::new(at, SMALL_PT, words).anchored(Anchor::End).inked(Ink::Grey(60)));
            }
        }
    }

    fn shell(&mut self) {
        self.marks.push(rectangle(self.room, Some(WALL), None));
    }

    /// Cloth, boxes, sitter, boards and heads as they are rendered.
    fn things(&mut self) {
        let cloth = Ink::Grey(225);
        for (role, pen, fill) in [
            (Role::Cloth, THIN, cloth),
            (Role::SetBox, FIRM, Ink::Grey(245)),
            (Role::Garment, THIN, Ink::Grey(160)),
            (Role::Skin, THIN, Ink::Grey(160)),
            (Role::Hair, THIN, Ink::Grey(90)),
        ] {
            let of_role = self.stage.meshes.iter().filter(move |mesh| mesh.role == role);
            if matches!(role, Role::Cloth | Role::SetBox) {
                for mesh in of_role {
                    self.mesh(std::iter::once(mesh), pen, fill);
                }
            } else {
                self.mesh(of_role, pen, fill);
            }
        }
        for board in &self.setup.boards {
            let stand = format!("{} stand", board.name);
            let named = |name: &str| {
                let name = name.to_owned();
                self.stage.meshes.iter().filter(move |m| m.role == Role::Board && m.name == name)
            };
            let (stand, sheet) = (named(&stand), named(&board.name));
            self.mesh(stand, Pen::new(0.12, Ink::Grey(110)), Ink::Grey(235));
            self.mesh(sheet, Pen::new(0.45, Ink::BLACK), Ink::Grey(90));
        }
        for part in ["stand", "reflector", "head"] {
            for light in &self.setup.lights {
                let name = format!("{} {part}", light.name);
                let of_light = self
                    .stage
                    .meshes
                    .iter()
                    .filter(move |m| m.role == Role::Fixture && m.name == name);
                let (pen, fill) = match part {
                    "stand" => (Pen::new(0.12, Ink::Grey(110)), Ink::Grey(235)),
                    "reflector" => (THIN, Ink::WHITE),
                    _ if light.on => (THIN, Ink::BLACK),
                    _ => (THIN, Ink::Grey(200)),
                };
                self.mesh(of_light, pen, fill);
            }
        }
        for light in &self.setup.lights {
            let at = self.spot(&light.spot);
            self.soft.push((Bounds { min: at - 2.5, max: at + 2.5 }, HEAD_COST));
        }
        // the face and where it looks
        if let Some(face) = self.stage.marks.iter().find(|mark| mark.name == "face") {
            let (from, to) = (self.at(face.position), self.at(face.position + face.facing * 0.3));
            self.marks.push(line(&[from, to], Pen::new(0.4, Ink::BLACK)));
            self.marks.extend(arrow(from, to, 0.4));
            self.keep(from, to, HEAD_COST);
        }
    }

    fn mesh<'m>(&mut self, meshes: impl Iterator<Item = &'m Mesh> + Clone, pen: Pen, fill: Ink) {
        let lines = outline(meshes, |p| self.view.flatten(p));
        let lines: Vec<Vec<DVec2>> = lines
            .into_iter()
            .map(|line| line.into_iter().map(|point| self.flat(point)).collect())
            .collect();
        let points = || lines.iter().flatten().copied();
        let (low, high) =
            (points().fold(DVec2::MAX, DVec2::min), points().fold(DVec2::MIN, DVec2::max));
        if low.cmple(high).all() {
            let bounds = Bounds { min: low, max: high };
            // a cloth covers half the floor: labels may lie on it
            if bounds.size().x * bounds.size().y < 900.0 {
                self.soft.push((bounds, BODY_COST));
            }
            self.marks.push(Mark::Lines { lines, closed: true, pen: Some(pen), fill: Some(fill) });
        }
    }

    /// The camera's body and what its frame holds, as far as the focus.
    fn camera(&mut self) {
        let camera = &self.stage.camera;
        let at = self.at(camera.position);
        let half = camera.half_frame();
        let focus = camera.focus_m as f32;
        let side = match self.view {
            View::Plan => camera.right * half.x,
            View::Side => camera.up * half.y,
        };
        for edge in [-side, side] {
            let to = self.at(camera.position + (camera.forward + edge) * focus);
            self.marks.push(line(&[at, to], Pen::new(0.15, Ink::Grey(100)).dashed(2.4, 1.0)));
            self.keep(at, to, LINE_COST);
        }
        // a body of 14 × 8 × 10 cm, drawn large enough to be seen
        let size = (1000.0 / self.scale * 0.14).max(3.0) * self.scale * 1e-3;
        let back = -camera.forward * size as f32;
        let across = match self.view {
            View::Plan => camera.right,
            View::Side => camera.up,
        } * (0.5 * size as f32);
        let lens = across * 0.45;
        let body = [
            lens,
            lens + back * 0.5,
            across + back * 0.5,
            across + back,
            -across + back,
            -across + back * 0.5,
            -lens + back * 0.5,
            -lens,
        ];
        let body: Vec<DVec2> =
            body.iter().map(|corner| self.at(camera.position + *corner)).collect();
        let points = || body.iter().copied();
        let bounds = Bounds {
            min: points().fold(DVec2::MAX, DVec2::min),
            max: points().fold(DVec2::MIN, DVec2::max),
        };
        self.soft.push((bounds, HEAD_COST));
        self.marks.push(Mark::Lines {
            lines: vec![body],
            closed: true,
            pen: Some(FIRM),
            fill: Some(Ink::WHITE),
        });
    }

    /// From each front along its axis: to what it points at, or a metre of it.
    fn axes(&mut self) {
        let lights = self.stage.lights.iter();
        for (light, row) in self.setup.lights.iter().filter_map(|row| {
            lights.clone().find(|light| light.name == row.name).map(|light| (light, row))
        }) {
            let source = &light.source;
            let reach = row.aim.distance_m.unwrap_or(1.0).min(12.0);
            let (from, to) =
                (self.at(source.position), self.at(source.position + source.axis * reach as f32));
            let pen =
                if row.on { Pen::new(0.25, Ink::BLACK) } else { Pen::new(0.2, Ink::Grey(140)) };
            if from.distance(to) > 1.0 {
                self.marks.push(line(&[from, to], pen.dashed(1.1, 0.9)));
                self.keep(from, to, LINE_COST);
                self.marks.extend(arrow(from, to, 0.25));
            } else {
                // it points at or away from the reader
                self.marks.push(Mark::Circle {
                    centre: from,
                    radius: 1.4,
                    pen: Some(pen),
                    fill: None,
                });
            }
        }
    }

    /// The mark, and the points that tapes run from.
    fn points(&mut self) {
        let mark = self.at(Vec3::ZERO);
        for way in [DVec2::new(1.6, 0.0), DVec2::new(0.0, 1.6)] {
            self.marks.push(line(&[mark - way, mark + way], Pen::new(0.5, Ink::BLACK)));
        }
        if self.view == View::Side {
            return;
        }
        for point in &self.setup.tape {
            let at = self.at(Vec3::new(point.x_m as f32, 0.0, point.z_m as f32));
            self.marks.push(Mark::Circle {
                centre: at,
                radius: 1.5,
                pen: Some(FIRM),
                fill: Some(Ink::WHITE),
            });
            self.marks.push(Mark::Circle {
                centre: at,
                radius: 0.5,
                pen: None,
                fill: Some(Ink::BLACK),
            });
            self.soft.push((Bounds { min: at - 1.6, max: at + 1.6 }, 3.0));
        }
    }

    /// The scale, its bar, and the compass.
    fn foot(&self, page: &mut Page, place: Bounds) {
        let units = self.setup.units;
        let step = units.grid_m() * 1000.0 / self.scale;
        let count = ((40.0 / step).round() as i64).clamp(1, 5);
        let top = self.frame.max.y + 2.6;
        let left = place.min.x + 1.0;
        for number in 0..count {
            let part = Bounds::new(left + number as f64 * step, top, step, 1.4);
            let fill = if number % 2 == 0 { Ink::BLACK } else { Ink::WHITE };
            page.rectangle(part, Some(Pen::new(0.2, Ink::BLACK)), Some(fill));
        }
        let right = left + count as f64 * step;
        let base = top + 1.2 + ASCENT_EM * SMALL_PT * MM_PER_PT + 0.6;
        page.text(Text::new(DVec2::new(left, base), SMALL_PT, "0"));
        let end = format!("{} {}", units.grid_label(count), units.name());
        page.text(Text::new(DVec2::new(right, base), SMALL_PT, end).anchored(Anchor::Middle));
        let words = format!(
            "1 : {} at full size; grid {} {}",
            self.scale,
            units.grid_label(1),
            units.name()
        );
        let from = right + 8.0;
        // the compass stands at the right end
        let compass = if self.view == View::Plan { 34.0 } else { 0.0 };
        let words = fitted(&words, SMALL_PT, false, place.max.x - compass - from);
        page.text(Text::new(DVec2::new(from, top + 1.9), SMALL_PT, words).inked(Ink::Grey(40)));
        if self.view == View::Plan {
            let tip = DVec2::new(place.max.x - 3.0, self.frame.max.y + FOOT_MM - 0.6);
            let tail = tip - DVec2::new(0.0, 6.6);
            page.line(&[tail, tip], Pen::new(0.4, Ink::BLACK));
            page.marks.extend(arrow(tail, tip, 0.8));
            let at = DVec2::new(tip.x - 3.0, tip.y - 2.2);
            page.text(Text::new(at, SMALL_PT, "0° = camera").anchored(Anchor::End));
        }
    }
}

/// Degrees with their sign: `−21°`.
pub fn degrees(value: f64) -> String {
    let whole = value.round();
    if whole == 0.0 { "0°".into() } else { format!("{whole:+.0}°").replace('-', "−") }
}

/// The head of an arrow.
fn arrow(from: DVec2, to: DVec2, width: f64) -> Option<Mark> {
    let along = (to - from).try_normalize()?;
    let size = 1.0 + 2.0 * width;
    let side = along.perp() * (0.45 * size);
    let neck = to - along * size;
    let points = vec![to, neck + side, neck - side];
    Some(Mark::Lines { lines: vec![points], closed: true, pen: None, fill: Some(Ink::BLACK) })
}

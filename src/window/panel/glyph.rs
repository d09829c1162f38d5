//! Small drawn signs: a shape and a colour for every light, so that neither is needed alone.

use eframe::egui::{self, Color32, Painter, Pos2, Shape, Stroke, pos2};

use crate::window::theme;

/// The sign of the light of this number, filled where it is on.
pub fn light(painter: &Painter, centre: Pos2, radius: f32, number: usize, on: bool, dark: bool) {
    let color = theme::light(number, dark);
    let (fill, stroke) = if on {
        (color, Stroke::new(1.0, color))
    } else {
        (Color32::TRANSPARENT, Stroke::new(1.5, color))
    };
    let polygon = |corners: usize, turn: f32| {
        let points = (0..corners)
            .map(|i| {
                let angle = turn + std::f32::consts::TAU * i as f32 / corners as f32;
                pos2(centre.x + radius * angle.sin(), centre.y - radius * angle.cos())
            })
            .collect();
        Shape::convex_polygon(points, fill, stroke)
    };
    let shape = match number % 8 {
        0 => Shape::circle_filled(centre, radius * 0.9, fill),
        1 => polygon(3, 0.0),
        2 => polygon(4, std::f32::consts::FRAC_PI_4),
        3 => polygon(4, 0.0),
        4 => polygon(5, 0.0),
        5 => polygon(3, std::f32::consts::PI),
        6 => polygon(6, 0.5),
        _ => polygon(8, 0.4),
    };
    painter.add(shape);
    if number.is_multiple_of(8) && !on {
        painter.circle_stroke(centre, radius * 0.9, stroke);
    }
}

/// A line with a head.
pub fn arrow(painter: &Painter, from: Pos2, to: Pos2, stroke: Stroke) {
    painter.line_segment([from, to], stroke);
    let along = (to - from).normalized();
    let across = egui::vec2(-along.y, along.x);
    for side in [-1.0, 1.0] {
        painter.line_segment([to, to - 7.0 * along + side * 4.0 * across], stroke);
    }
}

/// Text on a ground of its own, kept within `within`.
pub fn tag(
    painter: &Painter,
    within: egui::Rect,
    at: Pos2,
    text: &str,
    ink: Color32,
    ground: Color32,
) {
    let galley = painter.layout_no_wrap(text.to_owned(), egui::FontId::proportional(12.5), ink);
    let size = galley.size() + egui::vec2(8.0, 4.0);
    let low = within.min;
    let high = (within.max - size).max(low);
    let at = at.clamp(low, high);
    painter.rect_filled(egui::Rect::from_min_size(at, size), 3.0, ground);
    painter.galley(at + egui::vec2(4.0, 2.0), galley, ink);
}

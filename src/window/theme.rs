//! Colours and sizes: one ink and one ground for each of the two themes, and a colour with a shape
//! for every light, so that no light is told by colour alone.

use eframe::egui::{
    self, Color32, CornerRadius, FontFamily, FontId, Stroke, TextStyle, Theme, Visuals,
};

/// Colours of lights, in their order: told apart with the common kinds of colour blindness
/// (Wong 2011, Points of view: Color blindness), in a darker and a lighter cut.
const LIGHTS: [[u32; 2]; 8] = [
    [0xf0b429, 0x855900],
    [0x63b8ff, 0x0063a6],
    [0x3fcf9a, 0x00704a],
    [0xff8a5c, 0xb03f00],
    [0xe79bd0, 0x94477f],
    [0xf2e75b, 0x6f6800],
    [0x9fa8ff, 0x4a4fb5],
    [0xc9c9c9, 0x555555],
];

fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

/// Colour of the light of this number.
pub fn light(number: usize, dark: bool) -> Color32 {
    rgb(LIGHTS[number % LIGHTS.len()][usize::from(!dark)])
}

/// Ink for what warns.
pub fn warning(dark: bool) -> Color32 {
    rgb(if dark { 0xffb454 } else { 0x8a4b00 })
}

/// Ink for what is wrong.
pub fn wrong(dark: bool) -> Color32 {
    rgb(if dark { 0xff7b72 } else { 0xb3261e })
}

/// Ink for what is good.
pub fn good(dark: bool) -> Color32 {
    rgb(if dark { 0x7ee2a8 } else { 0x006b3a })
}

/// Ground behind pictures: neutral, so that it tints no judgement.
pub fn surround(dark: bool) -> Color32 {
    Color32::from_gray(if dark { 22 } else { 150 })
}

fn visuals(dark: bool) -> Visuals {
    let mut visuals = if dark { Visuals::dark() } else { Visuals::light() };
    let (panel, window, field, ink, weak, line) = if dark {
        (0x26, 0x2c, 0x18, 0xe2, 0xa6, 0x45)
    } else {
        (0xee, 0xf8, 0xff, 0x1a, 0x55, 0xc4)
    };
    let grey = Color32::from_gray;
    visuals.panel_fill = grey(panel);
    visuals.window_fill = grey(window);
    visuals.extreme_bg_color = grey(field);
    visuals.faint_bg_color = grey(if dark { 0x2c } else { 0xe4 });
    visuals.override_text_color = Some(grey(ink));
    visuals.weak_text_color = Some(grey(weak));
    visuals.widgets.noninteractive.bg_stroke = Stroke::new(1.0, grey(line));
    visuals.window_stroke = Stroke::new(1.0, grey(line));
    let accent = rgb(if dark { 0x2f5d8a } else { 0xa9cdf0 });
    visuals.selection.bg_fill = accent;
    visuals.selection.stroke = Stroke::new(1.5, rgb(if dark { 0x9ccbff } else { 0x0a4a80 }));
    visuals.warn_fg_color = warning(dark);
    visuals.error_fg_color = wrong(dark);
    for widget in [
        &mut visuals.widgets.inactive,
        &mut visuals.widgets.hovered,
        &mut visuals.widgets.active,
        &mut visuals.widgets.open,
    ] {
        widget.corner_radius = CornerRadius::same(3);
    }
    visuals.window_corner_radius = CornerRadius::same(5);
    visuals
}

/// Puts both themes into a context.
pub fn install(context: &egui::Context) {
    for (theme, dark) in [(Theme::Dark, true), (Theme::Light, false)] {
        context.set_visuals_of(theme, visuals(dark));
        context.style_mut_of(theme, |style| {
            style.spacing.item_spacing = egui::vec2(6.0, 4.0);
            style.spacing.button_padding = egui::vec2(7.0, 3.0);
            style.spacing.interact_size.y = 22.0;
            style.animation_time = 0.0;
            let sizes = [
                (TextStyle::Small, 11.5),
                (TextStyle::Body, 13.5),
                (TextStyle::Button, 13.5),
                (TextStyle::Heading, 16.0),
            ];
            for (name, size) in sizes {
                style.text_styles.insert(name, FontId::new(size, FontFamily::Proportional));
            }
            style
                .text_styles
                .insert(TextStyle::Monospace, FontId::new(12.5, FontFamily::Monospace));
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::color::srgb_decode;

    /// Contrast of two colours (WCAG 2.2, relative luminance).
    fn contrast(a: Color32, b: Color32) -> f32 {
        let y = |c: Color32| {
            let [r, g, b] = [c.r(), c.g(), c.b()].map(|v| srgb_decode(f32::from(v) / 255.0));
            0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05
        };
        let (a, b) = (y(a), y(b));
        a.max(b) / a.min(b)
    }

    #[test]
    fn every_ink_can_be_read() {
        for dark in [true, false] {
            let visuals = visuals(dark);
            let inks = [
                visuals.override_text_color.unwrap(),
                visuals.weak_text_color.unwrap(),
                warning(dark),
                wrong(dark),
                good(dark),
            ];
            let lights = (0..LIGHTS.len()).map(|number| light(number, dark));
            for ink in inks.into_iter().chain(lights) {
                for ground in [visuals.panel_fill, visuals.window_fill] {
                    let contrast = contrast(ink, ground);
                    assert!(contrast >= 4.5, "{ink:?} on {ground:?}: {contrast}");
                }
            }
        }
    }
}

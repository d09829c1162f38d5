//! Pages as SVG, PDF and PNG.
//!
//! In: [`Page`]s. Out: the bytes of files. A page is written as SVG once; the PDF and the PNG are
//! drawn from that, so the three look the same.

use std::fmt::Write;
use std::sync::{Arc, OnceLock};

use base64::Engine;
use base64::engine::general_purpose::STANDARD as BASE64;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::tiny_skia;
use resvg::usvg::{self, fontdb};

use super::page::{Anchor, Bounds, Ink, MM_PER_PT, Mark, Page, Pen, Text};
use super::typeface;

/// Why a page was not drawn.
#[derive(Debug, thiserror::Error)]
pub enum DrawError {
    /// Our own SVG did not read: ours.
    #[error("the page cannot be drawn: {0}")]
    Svg(#[from] usvg::Error),
    /// No such page: ours.
    #[error("a page of {0:.0} × {1:.0} mm cannot be drawn")]
    Size(f64, f64),
    /// The PDF could not be put together.
    #[error("the PDF cannot be written: {0}")]
    Pdf(String),
    /// The PNG could not be put together.
    #[error("the PNG cannot be written: {0}")]
    Png(String),
}

/// The page as an SVG that carries its typeface.
pub fn svg(page: &Page) -> String {
    let face = |file: &[u8], weight: &str| {
        format!(
            "@font-face{{font-family:\"{family} Condensed\";font-weight:{weight};\
             src:url(data:font/ttf;base64,{data})}}",
            family = typeface::FAMILY,
            data = BASE64.encode(file)
        )
    };
    let style = format!(
        "<style>{}{}</style>",
        face(typeface::REGULAR, "normal"),
        face(typeface::BOLD, "bold")
    );
    written(page, &style)
}

fn written(page: &Page, style: &str) -> String {
    let (w, h) = (page.width_mm, page.height_mm);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
         viewBox=\"0 0 {w} {h}\">{style}\
         <g font-family=\"'{family} Condensed','{family}',sans-serif\" font-stretch=\"condensed\" \
         stroke-linejoin=\"round\" stroke-linecap=\"round\">\n",
        family = typeface::FAMILY
    );
    let mut frames = 0;
    // the paper itself, so that a viewer with a dark ground shows it white
    out += &format!("<rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n");
    for mark in &page.marks {
        write_mark(mark, &mut frames, &mut out);
    }
    out += "</g></svg>\n";
    out
}

/// Writing to a string cannot fail.
fn put(out: &mut String, words: std::fmt::Arguments<'_>) {
    let _ = out.write_fmt(words);
}

fn write_mark(mark: &Mark, frames: &mut usize, out: &mut String) {
    match mark {
        Mark::Lines { lines, closed, pen, fill } => {
            let mut path = String::new();
            for line in lines.iter().filter(|line| line.len() > 1) {
                for (number, point) in line.iter().enumerate() {
                    let letter = if number == 0 { 'M' } else { 'L' };
                    put(&mut path, format_args!("{letter}{} {}", short(point.x), short(point.y)));
                }
                if *closed {
                    path.push('Z');
                }
            }
            if !path.is_empty() {
                let look = look(*pen, *fill);
                put(out, format_args!("<path d=\"{path}\" fill-rule=\"evenodd\"{look}/>\n"));
            }
        }
        Mark::Circle { centre, radius, pen, fill } => {
            let (x, y, r) = (short(centre.x), short(centre.y), short(*radius));
            let look = look(*pen, *fill);
            put(out, format_args!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\"{look}/>\n"));
        }
        Mark::Text(text) => write_text(text, out),
        Mark::Picture { place, file } => {
            let kind = if file.starts_with(b"\x89PNG") { "png" } else { "jpeg" };
            let at = rectangle(*place);
            let data = BASE64.encode(file);
            put(
                out,
                format_args!(
                    "<image {at} preserveAspectRatio=\"none\" href=\"data:image/{kind};base64,{data}\"/>\n"
                ),
            );
        }
        Mark::Framed { frame, marks } => {
            *frames += 1;
            let (id, at) = (*frames, rectangle(*frame));
            put(
                out,
                format_args!(
                    "<clipPath id=\"frame{id}\"><rect {at}/></clipPath><g clip-path=\"url(#frame{id})\">\n"
                ),
            );
            for mark in marks {
                write_mark(mark, frames, out);
            }
            out.push_str("</g>\n");
        }
    }
}

fn write_text(text: &Text, out: &mut String) {
    let anchor = match text.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let weight = if text.bold { " font-weight=\"bold\"" } else { "" };
    let words = text.words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    put(
        out,
        format_args!(
            "<text xml:space=\"preserve\" x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{anchor}{weight}>{words}</text>\n",
            short(text.at.x),
            short(text.at.y),
            short(text.size_pt * MM_PER_PT),
            text.ink.hex(),
        ),
    );
}

fn rectangle(place: Bounds) -> String {
    let size = place.size();
    format!(
        "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"",
        short(place.min.x),
        short(place.min.y),
        short(size.x),
        short(size.y)
    )
}

fn look(pen: Option<Pen>, fill: Option<Ink>) -> String {
    let mut look = match fill {
        Some(ink) => format!(" fill=\"{}\"", ink.hex()),
        None => " fill=\"none\"".into(),
    };
    if let Some(pen) = pen {
        put(
            &mut look,
            format_args!(" stroke=\"{}\" stroke-width=\"{}\"", pen.ink.hex(), short(pen.width_mm)),
        );
        if let Some([dash, gap]) = pen.dash_mm {
            put(&mut look, format_args!(" stroke-dasharray=\"{} {}\"", short(dash), short(gap)));
        }
    }
    look
}

/// A thousandth of a millimetre is plenty.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

/// The page as resvg sees it.
pub fn tree(page: &Page) -> Result<usvg::Tree, DrawError> {
    static FACES: OnceLock<Arc<fontdb::Database>> = OnceLock::new();
    let faces = FACES.get_or_init(|| {
        let mut faces = fontdb::Database::new();
        faces.load_font_data(typeface::REGULAR.to_vec());
        faces.load_font_data(typeface::BOLD.to_vec());
        Arc::new(faces)
    });
    let options = usvg::Options { fontdb: faces.clone(), ..usvg::Options::default() };
    Ok(usvg::Tree::from_str(&written(page, ""), &options)?)
}

/// All pages as one PDF, lines and letters as vectors.
pub fn pdf(pages: &[Page], title: &str) -> Result<Vec<u8>, DrawError> {
    let mut document = krilla::Document::new();
    document.set_metadata(Metadata::new().title(title.to_owned()).creator("foreshadow".to_owned()));
    for page in pages {
        let size = || {
            let pt = |mm: f64| (mm / MM_PER_PT) as f32;
            Size::from_wh(pt(page.width_mm), pt(page.height_mm))
                .ok_or(DrawError::Size(page.width_mm, page.height_mm))
        };
        let tree = tree(page)?;
        let mut sheet = document.start_page_with(PageSettings::new(size()?));
        let mut surface = sheet.surface();
        let settings = SvgSettings { embed_text: true, ..SvgSettings::default() };
        if surface.draw_svg(&tree, size()?, settings).is_none() {
            return Err(DrawError::Size(page.width_mm, page.height_mm));
        }
        surface.finish();
        sheet.finish();
    }
    document.finish().map_err(|error| DrawError::Pdf(format!("{error:?}")))
}

/// A page as PNG.
pub fn png(page: &Page, pixels_per_inch: f64) -> Result<Vec<u8>, DrawError> {
    let wrong = || DrawError::Size(page.width_mm, page.height_mm);
    let tree = tree(page)?;
    let pixels = |mm: f64| (mm / 25.4 * pixels_per_inch).round() as u32;
    let (width, height) = (pixels(page.width_mm), pixels(page.height_mm));
    let mut map = tiny_skia::Pixmap::new(width, height).ok_or_else(wrong)?;
    let scale = tiny_skia::Transform::from_scale(
        width as f32 / tree.size().width(),
        height as f32 / tree.size().height(),
    );
    resvg::render(&tree, scale, &mut map.as_mut());
    map.encode_png().map_err(|error| DrawError::Png(error.to_string()))
}

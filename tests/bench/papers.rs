//! What a sweep costs beside one full still of the same plan, size and quality.
//!
//! ```text
//! cargo bench --bench papers [-- WxH]
//! ```
//! Eight frames of the lamplighter's rim, azimuth 100° to 170°, each within 0.05 stop, against the
//! still of the plan as it ships; both from the plan to developed pictures. Nothing here passes or
//! fails: the ratio is for reading. It is to stay under 1.5.

use std::time::Instant;

use foreshadow::papers::Paper;
use foreshadow::plan::{self, shipped, vary::Field};
use foreshadow::shoot::papers::{PaperPlace, SweepOptions, Vary, sweep};
use foreshadow::shoot::{self, Output, StillOptions};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if !arguments.iter().any(|a| a == "--bench") {
        println!("papers: a benchmark; run it with `cargo bench --bench papers`");
        return;
    }
    let size = arguments.iter().find_map(|a| {
        let (w, h) = a.split_once('x')?;
        Some((w.parse().ok()?, h.parse().ok()?))
    });
    let size = size.unwrap_or((240, 360));
    let shipped = shipped::find("lamplighter").expect("it ships");
    let plan = plan::parse(shipped.text, shipped.name).expect("a shipped plan is good");
    let folder = tempfile::tempdir().expect("a folder for the results");
    let still = StillOptions { size: Some(size), seed: 1, ..StillOptions::default() };

    let begun = Instant::now();
    let output = Output::picture(&folder.path().join("still.png")).expect("a place for it");
    shoot::still(&plan, &still, &output, &|_| ()).expect("the still renders");
    let still_s = begun.elapsed().as_secs_f64();
    println!("lamplighter, {}×{}, within 0.05 stop", size.0, size.1);
    println!("one still         {still_s:8.1} s");

    let field = Field::find(&plan, Some("rim"), "azimuth").expect("the rim has an azimuth");
    let values = field.between(100.0, 170.0, 8);
    let options = SweepOptions {
        still,
        across: Vary { field, values },
        down: None,
        level: false,
        paper: Paper::A4,
        date: String::new(),
    };
    let place = PaperPlace::of(&folder.path().join("sweep.pdf"), true).expect("a place for it");
    let begun = Instant::now();
    let manifest = sweep(&plan, &options, &place, &|_| ()).expect("the sweep renders");
    let sweep_s = begun.elapsed().as_secs_f64();
    println!(
        "sweep of 8 frames {sweep_s:8.1} s, {} of {} layers traced",
        manifest.layers_traced, manifest.layers_used
    );
    for frame in &manifest.frames {
        println!(
            "  {:5.0}°  traced {}, again in {:.0} % of the picture",
            frame.values[0],
            frame.traced.join(" "),
            100.0 * frame.patched_share
        );
    }
    println!("ratio             {:8.2}", sweep_s / still_s);
}

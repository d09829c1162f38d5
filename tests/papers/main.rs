//! The papers of the shoot: pages that hold together, sheets that re-enter as plans, series and
//! sweeps that are mixes of layers.

mod layout;
mod round_trip;
mod verbs;

use foreshadow::papers::Paper;
use foreshadow::papers::sheet::Units;
use foreshadow::papers::sheet::record::SetUp;
use foreshadow::plan::{self, Plan, shipped};
use foreshadow::shoot::papers::{SheetOptions, set_up};
use foreshadow::stage::Stage;

fn shipped_plan(name: &str) -> Plan {
    let shipped = shipped::find(name).expect("it ships");
    plan::parse(shipped.text, shipped.name).unwrap_or_else(|error| panic!("{error}"))
}

fn record(plan: &Plan, stage: &Stage, units: Units) -> SetUp {
    let options = SheetOptions {
        job: "Season programme, small stage".into(),
        date: "2026-03-01".into(),
        units,
        paper: Paper::A4,
        seed: 1,
    };
    set_up(plan, stage, &options).expect("a stage that stands has a record")
}

//! Reading, writing and checking plans through the library.

use foreshadow::plan;

#[test]
fn shipped_plans_read_and_round_trip() {
    for entry in std::fs::read_dir("scenes").unwrap() {
        let path = entry.unwrap().path();
        let first = plan::read(&path).unwrap_or_else(|error| panic!("{error}"));
        let text = plan::to_text(&first).unwrap();
        let again = plan::parse(&text, "written").unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert_eq!(first, again, "{}", path.display());
        assert_eq!(text, plan::to_text(&again).unwrap(), "stable order");
        println!("{text}");
    }
}

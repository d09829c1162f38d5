//! The nearest known word to a mistyped one.

/// The candidate that differs from `word` in fewest letters, if it is near enough to be meant.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |w: &str| w.to_lowercase().replace(['_', '-', ' '], "").replace("colour", "color");
    let typed = plain(word);
    // words of any length are compared, but no plan's word is longer than this
    if typed.chars().count() > 40 {
        return None;
    }
    candidates
        .into_iter()
        .map(|candidate| (candidate, plain(candidate)))
        .filter_map(|(candidate, known)| {
            let edits = distance(&typed, &known);
            let longer_or_shorter = typed.len().min(known.len()) >= 4
                && (typed.starts_with(&known) || known.starts_with(&typed));
            let near = edits <= (known.chars().count() / 3).max(1) || longer_or_shorter;
            near.then_some((edits, candidate))
        })
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, candidate)| candidate)
}

/// Letters to insert, delete, replace or swap with a neighbour (Damerau 1964, 'A technique for
/// computer detection and correction of spelling errors'; optimal string alignment form).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows = vec![vec![0usize; b.len() + 1]; a.len() + 1];
    rows[0] = (0..=b.len()).collect();
    for i in 1..=a.len() {
        rows[i][0] = i;
        for j in 1..=b.len() {
            let replace = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replace.min(rows[i - 1][j] + 1).min(rows[i][j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances() {
        for (a, b, edits) in
            [("", "abc", 3), ("rim", "rim", 0), ("hieght", "height", 1), ("kye", "key", 1)]
        {
            assert_eq!(distance(a, b), edits, "{a} {b}");
        }
    }

    #[test]
    fn suggests_only_what_may_be_meant() {
        let fields = ["azimuth", "elevation", "distance", "color"];
        assert_eq!(nearest("azimut", fields), Some("azimuth"));
        assert_eq!(nearest("colour", fields), Some("color"));
        assert_eq!(nearest("Distance", fields), Some("distance"));
        assert_eq!(nearest("elev", fields), Some("elevation"));
        assert_eq!(nearest("wattage", fields), None);
    }
}

//! The word that somebody probably meant: the nearest of those that are known.
//!
//! Slips of the pen alone; a word that is merely of the same sort is no suggestion.

/// The candidate that somebody probably meant: the nearest within a third of
/// the word's length in edits (one at least), blind to case; the first of
/// equals. A word that is itself a candidate gets no suggestion of itself.
#[must_use]
pub fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters: Vec<char> = word.to_lowercase().chars().collect();
    let allowed = (letters.len() / 3).max(1);
    candidates
        .into_iter()
        .filter(|candidate| *candidate != word)
        .filter_map(|candidate| Some((edits(&letters, candidate, allowed)?, candidate)))
        // One letter for one other letter is a different word, not a slip.
        .filter(|(distance, _)| *distance < letters.len())
        .min_by_key(|(distance, candidate)| (*distance, candidate.chars().count().abs_diff(letters.len())))
        .map(|(_, candidate)| candidate)
}

/// Edits between two words (a letter added, lost or changed, two neighbours
/// swapped), or nothing if more than `allowed` are needed.
fn edits(word: &[char], candidate: &str, allowed: usize) -> Option<usize> {
    let other: Vec<char> = candidate.to_lowercase().chars().collect();
    if word.len().abs_diff(other.len()) > allowed || word.len() > LONGEST_WORD {
        return None;
    }
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=other.len()).collect();
    for row in 1..=word.len() {
        let mut now = vec![row];
        for column in 1..=other.len() {
            let changed = usize::from(word[row - 1] != other[column - 1]);
            let mut best = (last[column] + 1).min(now[column - 1] + 1).min(last[column - 1] + changed);
            if row > 1 && column > 1 && word[row - 1] == other[column - 2] && word[row - 2] == other[column - 1] {
                best = best.min(before[column - 2] + 1);
            }
            now.push(best);
        }
        // From here on the number of edits can only grow.
        if now.iter().min().is_none_or(|least| *least > allowed) {
            return None;
        }
        before = std::mem::replace(&mut last, now);
    }
    last.last().copied().filter(|distance| *distance <= allowed)
}

/// Beyond this many letters a word is not a slip of the pen, and the sum of
/// edits would cost more than its answer is worth.
const LONGEST_WORD: usize = 80;

#[cfg(test)]
mod tests {
    use super::did_you_mean;

    #[test]
    fn suggests_the_nearest_word() {
        let words = ["chainstay", "chainring", "sprocket", "links"];
        assert_eq!(did_you_mean("chianstay", words), Some("chainstay"));
        assert_eq!(did_you_mean("ChainRing", words), Some("chainring"));
        assert_eq!(did_you_mean("link", words), Some("links"));
        assert_eq!(did_you_mean("links", words), None);
        assert_eq!(did_you_mean("tyre", words), None);
        assert_eq!(did_you_mean("", words), None);
        assert_eq!(did_you_mean("b", ["a"]), None);
        assert_eq!(did_you_mean(&"x".repeat(100_000), words), None);
    }
}

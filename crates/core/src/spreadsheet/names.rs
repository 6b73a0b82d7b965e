//! Names that nearly match: never taken, always asked.

use std::collections::BTreeSet;

/// Longer texts are no names, and comparing them would cost time for nothing.
const LONGEST_NAME: usize = 60;

/// The known names that a written one might stand for, in the order of `known`.
pub(super) fn near(found: &str, known: &[&str]) -> Vec<String> {
    if found.chars().count() > LONGEST_NAME {
        return Vec::new();
    }
    let plain = letters(found);
    let is_near = |name: &&&str| {
        let name = letters(name);
        if name.is_empty() || plain.is_empty() {
            return false;
        }
        let slips = if name.len() >= 6 { 2 } else { 1 };
        let begins = |long: &[char], short: &[char]| short.len() >= 3 && long.starts_with(short);
        begins(&plain, &name)
            || begins(&name, &plain)
            || words(found).contains(&name)
            || (name.len() >= 3 && distance(&plain, &name) <= slips)
            || plain == name
    };
    known.iter().filter(is_near).map(|name| (*name).to_owned()).collect()
}

/// Letters and digits in lower case.
fn letters(text: &str) -> Vec<char> {
    text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect()
}

fn words(text: &str) -> BTreeSet<Vec<char>> {
    text.split(|c: char| !c.is_alphanumeric()).map(letters).collect()
}

/// Letters to change, add, leave out or exchange with the next (optimal string alignment).
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(before[j - 2] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::near;

    #[test]
    fn slips_of_the_pen_are_near_and_other_names_are_not() {
        let known = ["Ash", "Sedge", "Juniper"];
        let one = |found| near(found, &known).join(",");
        assert_eq!(one("ash"), "Ash");
        assert_eq!(one("Ahs"), "Ash", "two letters exchanged");
        assert_eq!(one("Sege"), "Sedge", "a letter left out");
        assert_eq!(one("Junipper "), "Juniper");
        assert_eq!(one("Ash (red collar)"), "Ash");
        assert_eq!(one("Pup Sedge"), "Sedge");
        assert_eq!(one("Rowan"), "");
        assert_eq!(one("Average"), "");
        assert_eq!(one(""), "");
    }
}

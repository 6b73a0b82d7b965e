//! The description that a USB device gives of its reports, read as far as a scale needs it.
//!
//! Items and their packing: USB-IF, Device Class Definition for HID 1.11 (2001), section 6.2.2;
//! from memory, the text was not read again.

/// How the report with the weight comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DataReport {
    /// Each report begins with its number, and this one is the weight's.
    Numbered(u8),
    /// The device has one report, without a number before it.
    Unnumbered,
}

impl Default for DataReport {
    /// What the scales of two public decoders send.
    fn default() -> Self {
        Self::Numbered(3)
    }
}

/// Usage page "weighing devices".
const PAGE: u32 = 0x8D;
const DATA_REPORT: u32 = PAGE << 16 | 0x32;
const DATA_WEIGHT: u32 = PAGE << 16 | 0x40;

/// Whether a device describes itself as a weighing scale.
#[must_use]
pub fn is_scale(descriptor: &[u8]) -> bool {
    Items(descriptor).any(|item| item.kind == Kind::Global && item.tag == 0 && item.value == PAGE)
}

impl DataReport {
    /// The report that carries the weight, where the description says so.
    #[must_use]
    pub fn of(descriptor: &[u8]) -> Option<Self> {
        let (mut page, mut report) = (0, None);
        let mut kept = Vec::new();
        let mut usages: Vec<u32> = Vec::new();
        let mut collections: Vec<bool> = Vec::new();
        for item in Items(descriptor) {
            match (item.kind, item.tag) {
                (Kind::Global, 0) => page = item.value,
                (Kind::Global, 8) => report = u8::try_from(item.value).ok(),
                (Kind::Global, 10) => kept.push((page, report)),
                (Kind::Global, 11) => (page, report) = kept.pop().unwrap_or((page, report)),
                // A usage of four bytes carries its page.
                (Kind::Local, 0) => usages.push(if item.size == 4 { item.value } else { page << 16 | item.value }),
                (Kind::Main, 8) => {
                    if usages.contains(&DATA_WEIGHT) || collections.contains(&true) {
                        return Some(report.map_or(Self::Unnumbered, Self::Numbered));
                    }
                    usages.clear();
                }
                (Kind::Main, 10) => {
                    collections.push(usages.contains(&DATA_REPORT));
                    usages.clear();
                }
                (Kind::Main, 12) => {
                    collections.pop();
                    usages.clear();
                }
                (Kind::Main, _) => usages.clear(),
                _ => {}
            }
        }
        None
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Main,
    Global,
    Local,
    Reserved,
}

struct Item {
    kind: Kind,
    tag: u8,
    size: usize,
    value: u32,
}

/// The items of a description; it ends at the first that is cut off.
struct Items<'d>(&'d [u8]);

impl Iterator for Items<'_> {
    type Item = Item;

    fn next(&mut self) -> Option<Item> {
        let (&prefix, rest) = self.0.split_first()?;
        if prefix == 0xFE {
            // A long item: its size, its tag, then what nobody here needs.
            let size = usize::from(*rest.first()?);
            self.0 = rest.get(size + 2..)?;
            return Some(Item { kind: Kind::Reserved, tag: 0, size, value: 0 });
        }
        let size = [0, 1, 2, 4][usize::from(prefix & 3)];
        let data = rest.get(..size)?;
        self.0 = &rest[size..];
        let kind = [Kind::Main, Kind::Global, Kind::Local, Kind::Reserved][usize::from(prefix >> 2 & 3)];
        let value = data.iter().rev().fold(0, |value, byte| value << 8 | u32::from(*byte));
        Some(Item { kind, tag: prefix >> 4, size, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Packed by hand: usage page, usage "scales", collection; attributes in report 1; then the
    /// weight in the report of this number.
    fn a_scale(number: Option<u8>) -> Vec<u8> {
        let mut text = vec![0x05, 0x8D, 0x09, 0x20, 0xA1, 0x01];
        if number.is_some() {
            text.extend([0x09, 0x30, 0xA1, 0x02, 0x85, 0x01, 0x09, 0x22, 0x75, 0x08, 0x95, 0x01, 0xB1, 0x02, 0xC0]);
        }
        text.extend([0x09, 0x32, 0xA1, 0x02]);
        text.extend(number.iter().flat_map(|n| [0x85, *n]));
        // Status and unit come before the weight, in the same report.
        text.extend([0x09, 0x33, 0x75, 0x08, 0x95, 0x03, 0x81, 0x02, 0x09, 0x40, 0x75, 0x10, 0x95, 0x01, 0x81, 0x02]);
        text.extend([0xC0, 0xC0]);
        text
    }

    #[test]
    fn the_report_of_the_weight_is_found_by_its_own_number() {
        for number in [3, 1, 7] {
            let described = a_scale(Some(number));
            assert!(is_scale(&described));
            assert_eq!(DataReport::of(&described), Some(DataReport::Numbered(number)));
        }
        assert_eq!(DataReport::of(&a_scale(None)), Some(DataReport::Unnumbered));
    }

    #[test]
    fn a_usage_that_carries_its_page_is_read() {
        // Page 1 (desktop), report 9, usage 0x8D:0x40 in four bytes, input.
        let described = [0x05, 0x01, 0x85, 0x09, 0x0B, 0x40, 0x00, 0x8D, 0x00, 0x81, 0x02];
        assert_eq!(DataReport::of(&described), Some(DataReport::Numbered(9)));
    }

    #[test]
    fn other_devices_and_broken_descriptions_are_no_scale() {
        // A mouse: page 1, usage 2, collection, buttons.
        let mouse = [0x05, 0x01, 0x09, 0x02, 0xA1, 0x01, 0x05, 0x09, 0x81, 0x02, 0xC0];
        assert!(!is_scale(&mouse) && DataReport::of(&mouse).is_none());
        let whole = a_scale(Some(3));
        for cut in 0..whole.len() {
            // Nothing is read beyond the end, whatever is cut off.
            let found = DataReport::of(&whole[..cut]);
            assert!(found.is_none() || found == Some(DataReport::Numbered(3)), "{cut}");
        }
        assert_eq!(DataReport::of(&[0xFE, 0xFF, 0x01]), None);
        assert_eq!(DataReport::of(&[0xC0, 0xB4, 0xB4]), None);
    }
}

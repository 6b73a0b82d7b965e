//! What a device on USB says of itself and then sends: the first byte is the length of its description.
#![no_main]

use std::time::Duration;

use libfuzzer_sys::fuzz_target;
use whelpward_core::scale::{Acceptance, DataReport, decode, is_scale};

fuzz_target!(|bytes: &[u8]| {
    let Some((length, rest)) = bytes.split_first() else { return };
    let (descriptor, reports) = rest.split_at(usize::from(*length).min(rest.len()));
    let _ = is_scale(descriptor);
    let layout = DataReport::of(descriptor).unwrap_or_default();
    let mut acceptance = Acceptance::default();
    for (at, report) in reports.chunks(6).enumerate() {
        let heard = decode(layout, report);
        acceptance.hear(heard, Duration::from_millis(at as u64 * 200));
        if let Some(offer) = acceptance.offer() {
            assert!(offer.mg > 0, "nothing on the scale is no weight");
        }
    }
});

//! The card of the kit: a tube only where a vet taught somebody, and each line with its row.

mod common;

use common::{Litter, at};
use whelpward_core::references::by_key;
use whelpward_core::report::equipment;

#[test]
fn sizes_of_tubes_are_named_only_where_a_carer_was_taught() {
    let litter = Litter::hand_fed(290.0, 1.0).pup("Birch", 310.0, "");
    assert!(equipment(&litter.facts(), at(10.0)).tubes.is_empty());
    let card = equipment(&litter.taught_carer().facts(), at(10.0));
    assert_eq!(card.taught, ["Carer"]);
    let sizes: Vec<_> = card.tubes.iter().map(|t| (t.pup.as_str(), t.size_fr)).collect();
    assert_eq!(sizes, [("Ash", 5), ("Birch", 8)]);
}

#[test]
fn the_card_leads_to_rows_and_computes_no_depth() {
    let card = equipment(&Litter::hand_fed(290.0, 1.0).taught_carer().facts(), at(10.0));
    let lines = [&card.bottle, &card.tube, &card.depth, &card.cleaning, &card.hands, &card.people];
    for said in lines.into_iter().flatten() {
        assert_eq!(
            by_key(&said.source.key).map(whelpward_core::references::Source::cite),
            Some(said.source.source.clone()),
            "{}",
            said.text
        );
    }
    // Safety rules: depth only as a mark measured on this pup. No length in centimetres anywhere.
    for said in &card.depth {
        assert!(!said.text.contains(" cm") && !said.text.contains(" mm"), "{}", said.text);
    }
    assert!(card.tube[0].text.contains("whom a vet taught"));
}

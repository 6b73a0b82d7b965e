//! The page of stages and dates, and its form for several pups at once, without script.

mod support;

use axum::http::StatusCode;
use support::{House, pup_id};

#[tokio::test]
async fn one_form_writes_down_for_several_pups_and_can_be_taken_back() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "168"), ("Yarrow", "150")]).await;
    house.pass_minutes(15 * 24 * 60);
    let page = house.page(&format!("{at}/stages")).await;
    assert!(page.contains("<h3>Worming: Ash, Yarrow"), "{page}");
    let now = house.page(&format!("{at}/now")).await;
    assert!(now.contains("worming: Ash, Yarrow"), "what is late stands on the first page too: {now}");
    let (ash, yarrow) = (pup_id(&now, "Ash"), pup_id(&now, "Yarrow"));
    let form = house.page(&format!("{at}/stages/write?kind=worming&pups={ash}_{yarrow}&dam=yes")).await;
    assert_eq!(form.matches(" checked").count(), 3, "both and the dam are ticked: {form}");
    let fields =
        [("kind", "worming"), ("pup", ash.as_str()), ("pup", yarrow.as_str()), ("product", "Paste"), ("lot", "L-1")];
    let saved = house.saved(&format!("{at}/stages/write"), &fields).await;
    assert!(saved.contains("Ash, Yarrow: worming, Paste, lot L-1."), "{saved}");
    assert!(!saved.contains("<h3>Worming: Ash, Yarrow"), "no longer late");
    assert!(saved.contains("Take back") || saved.contains("undo"), "one tap to take it back");
    let pup = house.page(&format!("{at}/pup/{ash}")).await;
    assert!(pup.contains("Worming: Paste, L-1"), "{pup}");
}

#[tokio::test]
async fn a_refused_form_says_what_is_allowed_and_keeps_what_was_typed() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "168")]).await;
    let ash = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    for (fields, says) in [
        (vec![("kind", "worming"), ("product", "Paste")], "Tick at least one pup."),
        (vec![("kind", "worming"), ("pup", &ash), ("lot", "L-9")], "as on the package"),
        (vec![("kind", "chip"), ("pup", &ash), ("value", "27/6")], "20 letters and digits"),
        (vec![("kind", "home_day"), ("pup", &ash), ("value", "soon"), ("note", "L-9")], "2026-11-20"),
    ] {
        let answer = house.post(&format!("{at}/stages/write"), &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(answer.text.contains(says), "{fields:?}: {}", answer.text);
        for (_, typed) in fields.iter().filter(|(name, _)| !matches!(*name, "kind" | "pup")) {
            assert!(answer.text.contains(&format!("value=\"{typed}\"")), "{typed} is lost: {}", answer.text);
        }
    }
    assert_eq!(house.get(&format!("{at}/stages/write?kind=nothing")).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_was_done_is_corrected_field_by_field() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "168")]).await;
    house.pass_minutes(15 * 24 * 60);
    let ash = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    let did = [("kind", "worming"), ("pup", &*ash), ("product", "Paste"), ("lot", "L-1"), ("as_given", "1 click")];
    house.saved(&format!("{at}/stages/write"), &did).await;
    let pup = house.page(&format!("{at}/pup/{ash}")).await;
    let entry = format!("{at}/entry/{}", &pup[pup.find("/entry/").unwrap() + 7..][..36]);
    let page = house.page(&entry).await;
    for held in ["value=\"Paste\"", "value=\"L-1\"", "value=\"1 click\"", "A veterinarian decides"] {
        assert!(page.contains(held), "{held}: {page}");
    }
    // A worming has a product; what was typed beside it stays.
    let refused = house.post(&entry, &[("product", ""), ("lot", "L-2")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text.contains("as on the package") && refused.text.contains("value=\"L-2\""), "{}", refused.text);
    let fields = [("product", "Syrup"), ("lot", "L-2"), ("as_given", ""), ("by", "Vet by the bridge")];
    let page = house.saved(&entry, &fields).await;
    assert!(page.contains("worming of Ash corrected") && page.contains("Worming: Syrup, L-2"), "{page}");
    let page = house.page(&entry).await;
    assert!(page.contains("Worming: Paste, L-1"), "the former version stays in the history: {page}");
    assert!(page.contains("name=\"as_given\" value=\"\""), "a field that is emptied is empty: {page}");

    house.saved(&format!("{at}/stages/write"), &[("kind", "vet_check"), ("pup", &ash), ("value", "fit")]).await;
    let pup = house.page(&format!("{at}/pup/{ash}")).await;
    let entry = pup.match_indices("/entry/").map(|(i, _)| format!("{at}/entry/{}", &pup[i + 7..][..36]));
    for entry in entry {
        let page = house.page(&entry).await;
        if page.contains("<select name=\"value\"") {
            let page = house.saved(&entry, &[("value", "see_again")]).await;
            assert!(page.contains("to be seen again"), "{page}");
            return;
        }
    }
    panic!("no entry offers the words of the vet: {pup}");
}

#[tokio::test]
async fn whose_dates_are_listed_is_chosen_on_the_page() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "168")]).await;
    let page = house.page(&format!("{at}/stages")).await;
    assert!(page.contains("the strictest we know") && page.contains("(not chosen yet)"), "{page}");
    let fields = [("worming_guideline", "capc"), ("vaccination_guideline", "aaha_2022"), ("home_law", "us_7_weeks")];
    let page = house.saved(&format!("{at}/stages/choose"), &fields).await;
    assert!(page.contains("AAHA 2022") && !page.contains("(not chosen yet)"), "{page}");
    let page = house.saved(&format!("{at}/stages/choose"), &[("home_law", "")]).await;
    assert!(page.contains("(not chosen yet)"), "a choice can be taken back: {page}");
}

#[tokio::test]
async fn no_amount_of_milk_stands_on_the_page() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "168")]).await;
    for weeks in [1, 2, 2, 2] {
        house.pass_minutes(weeks * 7 * 24 * 60);
        let page = house.page(&format!("{at}/stages")).await;
        assert!(!page.contains("mL"), "{page}");
        assert!(page.contains("A veterinarian decides"), "{page}");
    }
}

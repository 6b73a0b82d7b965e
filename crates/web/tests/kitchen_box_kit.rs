//! Comparing and blending milks, the box over time, the card of the kit, and a temperature that
//! is taken with a feed.

mod support;

use axum::http::StatusCode;
use support::{House, between, pup_id};

#[tokio::test]
async fn foods_stand_beside_bitchs_milk_in_the_same_measures() {
    let mut house = House::new().await;
    let at = house.example().await;
    let page = house.page(&format!("{at}/milk/compare")).await;
    // USDA FoodData Central, NDB 01106: goat's milk 3.56 g protein, 4.14 g fat in 100 g.
    let goat = &page[page.find("Goat's milk").or_else(|| page.find("Goat&#39;s milk")).expect("goat's milk")..];
    let goat = &goat[..goat.find("</section>").unwrap()];
    assert!(goat.contains("<td>3.56</td>") && goat.contains("<td>4.14</td>"), "{goat}");
    assert!(goat.contains("as thin and as sugary as cow"), "the sentence that goes with it: {goat}");
    assert!(page.contains("no food") || page.contains("No food here is recommended"), "{page}");
    // Only what was ticked is compared.
    let page = house.page(&format!("{at}/milk/compare?asked=yes&food=sheep_milk")).await;
    assert!(page.contains("<td>5.98</td>"), "NDB 01109: sheep's milk 5.98 g protein");
    assert!(!page.contains("<td>3.56</td>"), "{page}");
}

#[tokio::test]
async fn a_blend_is_headed_as_a_stop_gap_and_its_parts_make_its_volume() {
    let mut house = House::new().await;
    let at = house.example().await;
    let asked = "food=goat_milk&food=egg_yolk&food=cream&food=cottage_cheese&volume_ml=300&spread=0.5&at_most=&aim=mature&step_g=1";
    let page = house.page(&format!("{at}/milk/blend?{asked}")).await;
    let heading = page.find("A stop-gap until a milk replacer").expect("the heading of the safety rules");
    assert!(heading < page.find("Recipe for 300").expect("a recipe"), "it stands above the recipe");
    assert!(page.contains("What limits it") && page.contains("What it meets and misses"), "{page}");
    let recipe = between(&page, "<ul class=\"feeds\">", "</ul>");
    let grams: f64 = recipe
        .split("<strong>")
        .skip(1)
        .map(|p| p.split(['\u{a0}', '<']).next().unwrap().replace('\u{202f}', "").parse::<f64>().unwrap())
        .sum();
    // Milk weighs a little more than water; a blend of milk, cream, yolk and curd stays near it.
    assert!((0.97..1.12).contains(&(grams / 300.0)), "{grams} g in 300 mL: {recipe}");
    // What was chosen is still chosen.
    assert!(page.contains("value=\"goat_milk\" checked") && !page.contains("value=\"cow_milk\" checked"), "{page}");
    // It goes on the shelf by the form of the shelf.
    let kcal = between(&page, "name=\"kcal_per_ml\" value=\"", "\"").to_owned();
    let milk = [("id", "blend"), ("kind", "home_blend"), ("kcal_per_ml", kcal.as_str())];
    let shelf = house.saved(&format!("{at}/milk"), &milk).await;
    assert!(shelf.contains("milk blend added"), "{shelf}");
}

#[tokio::test]
async fn a_refused_blend_says_what_is_allowed_and_keeps_what_was_typed() {
    let mut house = House::new().await;
    let at = house.example().await;
    for (asked, says) in [
        ("volume_ml=250&spread=0.5&step_g=1", "Which foods are in the house?"),
        ("food=cream&volume_ml=25O&spread=0.5&step_g=1", "Allowed: a number from 1 to 5"),
        ("food=cream&volume_ml=250&spread=7&step_g=1", "Allowed: a number from 0 to 1"),
        ("food=cream&volume_ml=250&spread=0.5&step_g=0", "Allowed: a number from 0.01 to 50"),
        ("food=cream&volume_ml=250&spread=0.5&step_g=1&at_most=88", "Allowed: a number from 2 to 9"),
    ] {
        let answer = house.get(&format!("{at}/milk/blend?{asked}")).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{asked}");
        let alert = between(&answer.text, "role=\"alert\">", "<");
        assert!(alert.contains(says), "{asked}: {alert}");
        let typed = asked.split('&').find_map(|p| p.strip_prefix("volume_ml=")).unwrap();
        assert!(answer.text.contains(&format!("name=\"volume_ml\" value=\"{typed}\"")), "{asked}");
    }
    let hostile = house.get(&format!("{at}/milk/blend?food=cream&volume_ml=%3Cimg%20src%3Dx%3E")).await;
    assert!(!hostile.text.contains("<img") && hostile.text.contains("&lt;img"), "{}", hostile.text);
    // Raw egg cannot be blended, whoever asks.
    let raw = house.get(&format!("{at}/milk/blend?food=whole_egg_raw&volume_ml=200&spread=0.5&step_g=1")).await;
    assert_eq!(raw.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(!raw.text.contains("value=\"whole_egg_raw\""), "it is not offered");
}

#[tokio::test]
async fn the_box_is_judged_by_the_target_of_the_first_week() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150")]).await;
    let page = house.page(&format!("{at}/box")).await;
    assert!(page.contains("No temperature of the box") && !page.contains("<svg class=\"chart\""), "{page}");
    // The handbook's target of week 1: 29 to 32 °C.
    for (typed, said) in [("28.9", "below its target"), ("29", "within its target"), ("32.1", "above its target")] {
        let fields = [("box_temperature_c", typed), ("back", "box")];
        let page = house.saved(&format!("{at}/check"), &fields).await;
        assert!(between(&page, "class=\"do\">", "<").contains(said), "{typed}: {page}");
        assert!(page.contains("<svg class=\"chart\"") && page.contains("Take back"), "{page}");
        house.pass_minutes(1);
    }
    house.pass_minutes(25 * 60);
    let page = house.page(&format!("{at}/box")).await;
    assert!(between(&page, "class=\"do\">", "<").contains("read it again"), "{page}");
}

#[tokio::test]
async fn the_card_of_the_kit_names_no_tube_where_nobody_was_taught() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150")]).await;
    let page = house.page(&format!("{at}/equipment")).await;
    assert!(page.contains("no tube: ask your vet"), "{page}");
    assert!(page.contains("no size is published. Ask your vet"), "what is not known is said: {page}");
    assert!(!page.contains("Size by the last weight"), "{page}");
    house
        .saved(&format!("{at}/settings"), &[("what", "carer"), ("name", "Robin"), ("tube_taught_by_vet", "yes")])
        .await;
    let page = house.page(&format!("{at}/equipment")).await;
    assert!(page.contains("Taught by a vet: Robin") && page.contains("Size by the last weight"), "{page}");
}

/// The pup in hand on the feeding round of the example, and how its pages are reached.
async fn pup_in_hand(house: &mut House) -> (String, String) {
    let at = house.example().await;
    let feed = house.page(&format!("{at}/feed")).await;
    let pup = between(&feed, "name=\"pup\" value=\"", "\"").to_owned();
    assert!(feed.contains("name=\"rectal_temperature_c\""), "a temperature is asked for");
    (at, pup)
}

/// Feeds by bottle and rectal temperatures in the list of a pup.
async fn written_down(house: &mut House, at: &str, pup: &str) -> (usize, usize) {
    let page = house.page(&format!("{at}/pup/{pup}")).await;
    let list = between(&page, "class=\"events\">", "</ul>");
    (list.matches("by bottle").count(), list.matches("Rectal temperature").count())
}

#[tokio::test]
async fn a_temperature_typed_with_a_feed_is_saved_with_it_and_taken_back_with_it() {
    let mut house = House::new().await;
    let (at, pup) = pup_in_hand(&mut house).await;
    let fields = [("pup", pup.as_str()), ("what", "planned"), ("rectal_temperature_c", "36.2")];
    let page = house.saved(&format!("{at}/feed"), &fields).await;
    assert!(page.contains("by bottle. Sedge: rectal temperature 36.2\u{a0}°C"), "{page}");
    let entry = between(&page, "name=\"entry\" value=\"", "\"").to_owned();
    let page = house.saved(&format!("{at}/undo"), &[("entry", &entry), ("back", &format!("{at}/feed"))]).await;
    assert!(page.contains("Taken back: feed") && page.contains("Taken back: check"), "{page}");
}

#[tokio::test]
async fn a_cold_temperature_typed_with_a_feed_is_saved_and_the_feed_is_not() {
    let mut house = House::new().await;
    let (at, pup) = pup_in_hand(&mut house).await;
    let feeds = written_down(&mut house, &at, &pup).await;
    let fields = [("pup", pup.as_str()), ("what", "planned"), ("rectal_temperature_c", "34.6")];
    let page = house.saved(&format!("{at}/feed"), &fields).await;
    assert!(page.contains("34.6") && page.contains("No feed was written down"), "{page}");
    assert!(page.contains("No milk now") && page.contains("too cold"), "{page}");
    assert!(page.contains("Another amount"), "what was given all the same can be written down");
    let after = written_down(&mut house, &at, &pup).await;
    assert_eq!(after, (feeds.0, feeds.1 + 1), "one temperature more, no feed more");
}

#[tokio::test]
async fn a_temperature_that_does_not_read_saves_nothing_and_stays_typed() {
    let mut house = House::new().await;
    let (at, pup) = pup_in_hand(&mut house).await;
    let fields = [("pup", pup.as_str()), ("what", "planned"), ("rectal_temperature_c", "362")];
    let answer = house.post(&format!("{at}/feed"), &fields).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("name=\"rectal_temperature_c\" value=\"362\""), "{}", answer.text);
}

#[tokio::test]
async fn several_checks_of_one_form_are_taken_back_together() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150")]).await;
    let pup = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    let fields = [("pup", pup.as_str()), ("suck", "strong"), ("breathing", "easy")];
    let page = house.saved(&format!("{at}/check"), &fields).await;
    let entry = between(&page, "name=\"entry\" value=\"", "\"").to_owned();
    house.saved(&format!("{at}/undo"), &[("entry", &entry), ("back", &format!("{at}/now"))]).await;
    assert!(house.page(&format!("{at}/pup/{pup}")).await.contains("Nothing yet."));
}

#[tokio::test]
async fn the_dam_has_her_page() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "300")]).await;
    let empty = house.page(&format!("{at}/dam")).await;
    assert!(empty.contains("discharge: not recorded"), "{empty}");
    house.saved(&format!("{at}/check"), &[("dam_temperature_c", "38.4"), ("dam_discharge", "none")]).await;
    house.pass_minutes(60);
    house.saved(&format!("{at}/check"), &[("dam_temperature_c", "39.9"), ("dam_discharge", "foul")]).await;
    let page = house.page(&format!("{at}/dam")).await;
    // Foul discharge is a call to the vet (safety.md); both temperatures stand there, the newest first.
    assert!(page.contains("vet") && page.contains("foul"), "{page}");
    let newest = page.rfind("39.9").unwrap();
    assert!(newest < page.rfind("38.4").unwrap(), "{page}");
}

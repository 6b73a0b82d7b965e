//! When a phone has to keep the empty frame of a litter's pages anew.

mod support;

use support::{House, between, pup_id};

async fn mark(house: &mut House, page: &str) -> String {
    between(&house.page(page).await, "data-frame-mark=\"", "\"").to_owned()
}

#[tokio::test]
async fn the_mark_of_the_frame_changes_with_what_the_frame_says_and_with_nothing_else() {
    let mut house = House::new().await;
    let at = house.litter(&[("Sedge", "210")]).await;
    let now = format!("{at}/now");
    let first = mark(&mut house, &now).await;
    for page in ["weigh", "feed", "check", "more", "settings", "away"] {
        assert_eq!(mark(&mut house, &format!("{at}/{page}")).await, first, "{page}");
    }
    // Another hour, in which the theme by the clock is another one too, and another entry.
    let frame = house.page(&format!("{at}/away")).await;
    let pup = pup_id(&house.page(&now).await, "Sedge");
    house.pass_minutes(11 * 60);
    let fields = [("pup", pup.as_str()), ("weight", "214"), ("unit", "g"), ("taken", "before_feed")];
    house.saved(&format!("{at}/weigh"), &fields).await;
    assert_eq!(mark(&mut house, &now).await, first);
    let times = |page: &str| {
        let all = ["data-place", "data-now", "data-clock"];
        all.iter().fold(page.to_owned(), |text, name| {
            let value = between(&text, &format!("{name}=\""), "\"").to_owned();
            text.replace(&format!("{name}=\"{value}\""), "")
        })
    };
    let later = house.page(&format!("{at}/away")).await;
    assert_eq!(times(&later), times(&frame), "a frame that was kept says what one of now says");

    let mut seen = vec![first];
    for change in [("theme", "night"), ("theme", "day"), ("hand", "left")] {
        house.post("/device", &[change, ("back", &now)]).await;
        seen.push(mark(&mut house, &now).await);
    }
    house.saved(&format!("{at}/settings"), &[("what", "carer"), ("name", "Tom")]).await;
    seen.push(mark(&mut house, &now).await);
    house.post("/device", &[("carer", "Tom"), ("back", &now)]).await;
    seen.push(mark(&mut house, &now).await);
    let marks: std::collections::BTreeSet<_> = seen.iter().collect();
    assert_eq!(marks.len(), seen.len(), "{seen:?}");
}

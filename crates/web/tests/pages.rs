//! The pages, asked for without a network.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use support::{AT, Browser, HOST, House, REPLACER, between, post, pup_id};
use whelpward_app::access::{self, By, Role};
use whelpward_web::ROUTES;

/// Every address of a litter that shows a page.
async fn litter_pages(house: &mut House, at: &str, pup: &str) -> Vec<String> {
    let page = house.page(&format!("{at}/pup/{pup}")).await;
    let entry = page.find("/entry/").map(|i| page[i + 7..i + 43].to_owned());
    let mut pages: Vec<String> = ROUTES
        .iter()
        .filter(|r| r.method == "get" && r.path.starts_with("/{shelf}"))
        // A stream of events has no end; what a page keeps is data.
        .filter(|r| !r.path.ends_with("/live") && !r.path.ends_with("/ahead"))
        .filter(|r| !r.path.ends_with("/feeds.ics"))
        // Each print has its line below; a file and a style sheet are no pages.
        .filter(|r| !r.path.contains("{print}"))
        .filter(|r| !r.path.contains("{entry}") || entry.is_some())
        .map(|r| {
            r.path
                .replace("/{shelf}/{litter}", at)
                .replace("{pup}", pup)
                .replace("{entry}", entry.as_deref().unwrap_or_default())
        })
        .map(|p| if p.ends_with("/measure") { format!("{p}?kind=box_temperature_c") } else { p })
        .collect();
    pages.extend(whelpward_web::print::Print::ALL.map(|print| format!("{at}/print/{}", print.word())));
    pages.extend([
        format!("{at}/print/owner?pup={pup}"),
        format!("{at}/weigh?pup={pup}"),
        format!("{at}/feed?pup={pup}"),
        format!("{at}/check?pup={pup}"),
        format!("{at}/vet?pup={pup}"),
        format!("{at}/measure?kind=rectal_temperature_c&pup={pup}"),
        format!("{at}/timetable?sleep=02:00&options=yes"),
    ]);
    pages
}

#[tokio::test]
async fn every_page_of_every_example_is_shown_without_anything_inline() {
    let mut house = House::new().await;
    house.example().await;
    let start = house.page("/").await;
    let litters: Vec<String> = start.match_indices("/example/").map(|(i, _)| start[i..i + 45].to_owned()).collect();
    assert_eq!(litters.len(), 4);
    for at in litters {
        let now = house.page(&format!("{at}/now")).await;
        let pup = between(&now, "/pup/", "\"").to_owned();
        for path in litter_pages(&mut house, &at, &pup).await {
            let answer = house.get(&path).await;
            assert_eq!(answer.status, StatusCode::OK, "{path}: {}", answer.text);
            let policy = answer.headers[header::CONTENT_SECURITY_POLICY].to_str().unwrap();
            assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
            assert_eq!(answer.headers[header::REFERRER_POLICY], "same-origin");
            assert!(answer.text.contains("lang=\"en\""), "{path}");
            assert!(answer.text.contains("INVENTED EXAMPLE"), "{path}");
            for inline in [" style=\"", "<style", "<script>", " onclick=", "javascript:"] {
                assert!(!answer.text.contains(inline), "{path}: {inline}");
            }
            // Text that nobody wrote would stand there as its key.
            assert!(!answer.text.contains("[unknown"), "{path}");
        }
    }
}

#[tokio::test]
async fn examples_are_apart_from_the_book_and_can_be_removed() {
    let mut house = House::new().await;
    let at = house.example().await;
    house.page(&format!("{at}/now")).await;
    let in_the_book = at.replace("/example/", "/litter/");
    assert_eq!(house.get(&format!("{in_the_book}/now")).await.status, StatusCode::NOT_FOUND);
    house.saved("/examples/remove", &[]).await;
    assert_eq!(house.get(&format!("{at}/now")).await.status, StatusCode::NOT_FOUND);
    house.example().await;
}

#[tokio::test]
async fn an_example_runs_on_its_own_clock() {
    let mut house = House::new().await;
    let at = house.example().await;
    let page = house.page(&format!("{at}/now")).await;
    assert!(page.contains("02:40"), "{page}");
    house.pass_minutes(25);
    let page = house.page(&format!("{at}/now")).await;
    assert!(page.contains("03:05"), "{page}");
}

#[tokio::test]
async fn a_form_from_elsewhere_is_not_let_in_by_any_address() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150")]).await;
    let pup = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    let token = house.token().await;
    let good = format!("http://{HOST}");
    for route in ROUTES.iter().filter(|r| r.method == "post") {
        let path = route.path.replace("/{shelf}/{litter}", &at).replace("{pup}", &pup).replace("{entry}", &pup);
        let token = [("token", token.as_str())];
        for (what, request) in [
            ("another host", post(&path, "elsewhere.test:7317", Some("http://elsewhere.test:7317"), &token)),
            ("another origin", post(&path, HOST, Some("http://elsewhere.test"), &token)),
            ("a null origin", post(&path, HOST, Some("null"), &token)),
            ("no origin", post(&path, HOST, None, &token)),
            ("the same host at another port", post(&path, HOST, Some("http://127.0.0.1:9"), &token)),
            ("no token", post(&path, HOST, Some(&good), &[])),
            ("a wrong token", post(&path, HOST, Some(&good), &[("token", "0123456789abcdef0123456789abcdef")])),
        ] {
            let answer = house.send(request).await;
            let is_refused = matches!(answer.status, StatusCode::FORBIDDEN | StatusCode::MISDIRECTED_REQUEST);
            assert!(is_refused, "{what} at {path}: {}", answer.status);
        }
    }
    // A page under another name is not shown either.
    let request = Request::get("/").header(header::HOST, "elsewhere.test").body(Body::empty()).unwrap();
    assert_eq!(house.send(request).await.status, StatusCode::MISDIRECTED_REQUEST);
}

#[tokio::test]
async fn the_token_of_one_browser_does_not_fit_another() {
    let mut one = House::new().await;
    let token = one.token().await;
    let mut other = House::new().await;
    other.token().await;
    let answer = other.send(post("/new", HOST, Some(&format!("http://{HOST}")), &[("token", &token)])).await;
    assert_eq!(answer.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_form_that_is_too_large_is_not_read() {
    let mut house = House::new().await;
    let answer = house.post("/new", &[("name", &"x".repeat(300 * 1024))]).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[tokio::test]
async fn hostile_text_is_shown_as_text_on_every_page() {
    const HOSTILE: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>";
    let mut house = House::new().await;
    let fields = [
        ("name", HOSTILE),
        ("breed", HOSTILE),
        ("scale_step_g", "1"),
        ("time_zone", "Europe/Berlin"),
        ("dam", HOSTILE),
        ("vet", HOSTILE),
        ("phone", HOSTILE),
    ];
    let at = house.post("/new", &fields).await.location().strip_suffix("/now").unwrap().to_owned();
    let pup = [("name", HOSTILE), ("coat", HOSTILE), ("sex", "male"), ("weight", "300"), ("unit", "g")];
    let birth = house.saved(&format!("{at}/birth"), &pup).await;
    let id = between(&birth, "/pup/", "\"").to_owned();
    let carer = [("what", "carer"), ("name", HOSTILE)];
    house.saved(&format!("{at}/settings"), &carer).await;
    house.saved("/device", &[("carer", HOSTILE), ("back", &format!("{at}/now"))]).await;
    let milk = REPLACER.map(|(name, value)| (name, if name == "id" { HOSTILE } else { value }));
    // The ratio is read back once, and nothing typed is lost.
    let (looked, fields) = milk.split_last().unwrap();
    assert_eq!(looked.0, "looked");
    let asked = house.post(&format!("{at}/milk"), fields).await;
    assert_eq!(asked.status, StatusCode::CONFLICT);
    assert!(asked.text.contains("by weight 1 to 2.5") && asked.text.contains("value=\"10\""), "{}", asked.text);
    house.saved(&format!("{at}/milk"), &milk).await;
    house.saved(&format!("{at}/check"), &[("pup", &id), ("suck", "weak"), ("note", HOSTILE)]).await;
    house
        .saved(&format!("{at}/feed"), &[("pup", &id), ("what", "other"), ("taken_ml", "2"), ("method", "bottle")])
        .await;
    house.saved(&format!("{at}/weigh"), &[("pup", &id), ("weight", "301"), ("unit", "g")]).await;
    let refused = house.post(&format!("{at}/weigh"), &[("pup", &id), ("weight", HOSTILE), ("unit", "g")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    // What an open page keeps is data; its parts that are markup are escaped like a page.
    let kept = house.get(&format!("{at}/ahead")).await;
    assert_eq!(kept.headers[header::CONTENT_TYPE], "application/json");
    let kept: serde_json::Value = serde_json::from_str(&kept.text).unwrap();
    let markup = format!("{}{}{}", kept["pups"][0]["cue"], kept["pups"][0]["band"], kept["phones"]);
    assert!(markup.contains("&lt;") && !markup.contains("<script>") && !markup.contains("<img"), "{markup}");
    let mut texts = vec![("the refusal".to_owned(), refused.text), ("/".into(), house.page("/").await)];
    for path in litter_pages(&mut house, &at, &id).await {
        let text = house.page(&path).await;
        texts.push((path, text));
    }
    for (path, text) in texts {
        assert!(!text.contains("<script>") && !text.contains("<img"), "{path}");
        assert!(text.contains("&lt;script&gt;") || text.contains("&lt;img"), "{path} shows it");
        assert!(!text.contains("href=\"javascript"), "{path}");
    }
}

#[tokio::test]
async fn from_nothing_to_the_first_instruction_in_two_forms() {
    let mut house = House::new().await;
    assert!(house.page("/").await.contains("Start a litter"));
    let at = house.litter(&[("Ash", "100")]).await;
    let page = house.page(&format!("{at}/now")).await;
    // 100 g is far below the published threshold for the breed; the first heading says who and what.
    let heading = between(&page, "<h1>", "</h1>");
    assert!(heading.contains("Ash"), "{heading}");
}

#[tokio::test]
async fn a_refused_litter_keeps_what_was_typed() {
    let mut house = House::new().await;
    let answer = house
        .post(
            "/new",
            &[("name", "Clover"), ("time_zone", "Nowhere/Atall"), ("scale_step_g", "1"), ("breed", "Maltese")],
        )
        .await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("value=\"Clover\"") && answer.text.contains("Nowhere/Atall"), "{}", answer.text);
    assert!(answer.text.contains("role=\"alert\""));
}

#[tokio::test]
async fn a_weighing_round_goes_from_pup_to_pup_and_reads_back() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150"), ("Birch", "160"), ("Cedar", "170")]).await;
    house.pass_minutes(12 * 60);
    let mut page = house.page(&format!("{at}/weigh")).await;
    for (name, weight, change) in [("Ash", "153", "+3"), ("Birch", "158", "-2"), ("Cedar", "175", "+5")] {
        assert!(page.contains(&format!("Save for {name}")), "{page}");
        let pup = between(&page, "name=\"pup\" value=\"", "\"").to_owned();
        let since = between(&page, "name=\"since\" value=\"", "\"").to_owned();
        page = house
            .saved(
                &format!("{at}/weigh"),
                &[("pup", &pup), ("since", &since), ("weight", weight), ("unit", "g"), ("taken", "before_feed")],
            )
            .await;
        assert!(page.contains(&format!("{name}: {weight}\u{a0}g, {change}\u{a0}g")), "{page}");
        assert!(page.contains("Take back"));
    }
    assert!(page.contains("All weighed"), "{page}");
}

#[tokio::test]
async fn a_doubt_asks_and_loses_nothing() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150"), ("Birch", "210")]).await;
    house.pass_minutes(12 * 60);
    let pup = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    let weigh = format!("{at}/weigh");
    let pup_page = format!("{at}/pup/{pup}");
    let fields = [("pup", pup.as_str()), ("weight", "1520"), ("unit", "g"), ("since", "1"), ("taken", "after_feed")];
    let asked = house.post(&weigh, &fields).await;
    assert_eq!(asked.status, StatusCode::CONFLICT, "{}", asked.text);
    assert!(asked.text.contains("ten times too large"), "{}", asked.text);
    // Everything that was typed travels with the question.
    for (name, value) in fields {
        assert!(asked.text.contains(&format!("name=\"{name}\" value=\"{value}\"")), "{name}: {}", asked.text);
    }
    assert!(!house.page(&pup_page).await.contains("1520"), "nothing is saved before the answer");
    // "It was 152 g": the button carries that weight.
    assert!(asked.text.contains("name=\"weight\" value=\"152\""), "{}", asked.text);
    let page =
        house.saved(&weigh, &[("pup", &pup), ("weight", "1520"), ("unit", "g"), ("since", "1"), ("kept", "yes")]).await;
    assert!(page.contains("Kept although"), "{page}");
    assert!(house.page(&pup_page).await.contains("1520 g"));
}

#[tokio::test]
async fn another_pups_weight_is_saved_there_in_one_tap() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150"), ("Birch", "210")]).await;
    house.pass_minutes(12 * 60);
    let now = house.page(&format!("{at}/now")).await;
    let (ash, birch) = (pup_id(&now, "Ash"), pup_id(&now, "Birch"));
    let asked = house.post(&format!("{at}/weigh"), &[("pup", &ash), ("weight", "211"), ("unit", "g")]).await;
    assert_eq!(asked.status, StatusCode::CONFLICT, "{}", asked.text);
    assert!(asked.text.contains("It is Birch: save it there"), "{}", asked.text);
    let page =
        house.saved(&format!("{at}/weigh"), &[("pup", &birch), ("next", &ash), ("weight", "211"), ("unit", "g")]).await;
    assert!(page.contains("Birch: 211"), "{page}");
    assert!(page.contains("Save for Ash"), "back to the pup in hand");
}

#[tokio::test]
async fn a_saved_entry_is_taken_back_or_given_to_the_right_pup() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150"), ("Birch", "155")]).await;
    house.pass_minutes(12 * 60);
    let now = house.page(&format!("{at}/now")).await;
    let (ash, birch) = (pup_id(&now, "Ash"), pup_id(&now, "Birch"));
    let page = house.saved(&format!("{at}/weigh"), &[("pup", &ash), ("weight", "153"), ("unit", "g")]).await;
    let entry = between(&page, "name=\"entry\" value=\"", "\"").to_owned();
    house.saved(&format!("{at}/entry/{entry}"), &[("pup", &birch)]).await;
    assert!(house.page(&format!("{at}/pup/{birch}")).await.contains("153 g"));
    assert!(!house.page(&format!("{at}/pup/{ash}")).await.contains("153 g"));
    let page = house.page(&format!("{at}/entry/{entry}")).await;
    assert!(page.contains("Birch"), "{page}");
    let page = house.saved(&format!("{at}/undo"), &[("entry", &entry), ("back", &format!("{at}/now?saved=1"))]).await;
    assert!(page.contains("Taken back"), "{page}");
    assert!(house.page(&format!("{at}/pup/{ash}")).await.contains("153 g"), "the version before counts again");
}

#[tokio::test]
async fn a_feed_as_planned_is_one_form_and_a_second_one_is_asked_about() {
    let mut house = House::new().await;
    let at = house.example().await;
    let page = house.page(&format!("{at}/feed")).await;
    assert!(
        page.contains("Sedge") && page.contains("1.3\u{a0}mL") && page.contains("never more than 4.6\u{a0}mL"),
        "{page}"
    );
    assert!(page.contains("Only after you have checked: warm"), "{page}");
    // The weight stands folded away, under "why".
    let open: String = page.split("<details").map(|p| p.split("</details>").last().unwrap()).collect();
    assert!(page.contains("117\u{a0}g") && !open.contains("117\u{a0}g"), "{open}");
    let pup = between(&page, "name=\"pup\" value=\"", "\"").to_owned();
    let feed = format!("{at}/feed");
    let fields = [("pup", pup.as_str()), ("what", "planned")];
    let page = house.saved(&feed, &fields).await;
    assert!(page.contains("Sedge: 1.3\u{a0}mL by bottle"), "{page}");
    let again = house.post(&feed, &[("pup", &pup), ("what", "other"), ("taken_ml", "1"), ("method", "bottle")]).await;
    assert_eq!(again.status, StatusCode::CONFLICT, "{}", again.text);
    assert!(again.text.contains("name=\"taken_ml\" value=\"1\""));
    let physics = house.post(&feed, &[("pup", &pup), ("what", "other"), ("taken_ml", "900"), ("kept", "yes")]).await;
    assert_eq!(physics.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(physics.text.contains("more than Sedge weighs"), "{}", physics.text);
}

#[tokio::test]
async fn no_amount_is_shown_for_a_pup_that_is_too_cold() {
    let mut house = House::new().await;
    let at = house.example().await;
    let feed = house.page(&format!("{at}/feed")).await;
    let pup = between(&feed, "name=\"pup\" value=\"", "\"").to_owned();
    let page =
        house.saved(&format!("{at}/check"), &[("pup", &pup), ("rectal_temperature_c", "34.6"), ("back", "feed")]).await;
    assert!(page.contains("No milk now") && page.contains("too cold"), "{page}");
    assert!(!page.contains("number-large"), "no amount beside it");
    assert!(page.contains("Another amount"), "what happened can be written down all the same");
    let sheet = house.page(&format!("{at}/sheet")).await;
    assert!(sheet.contains("too cold"), "{sheet}");
}

#[tokio::test]
async fn several_checks_are_saved_together_and_a_wrong_one_saves_none() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150")]).await;
    let pup = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    let check = format!("{at}/check");
    let refused = house.post(&check, &[("pup", &pup), ("suck", "strong"), ("rectal_temperature_c", "380")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text.contains("value=\"380\""), "{}", refused.text);
    let page = house.page(&format!("{at}/pup/{pup}")).await;
    assert!(page.contains("Nothing yet."), "{page}");
    let page = house.saved(&check, &[("pup", &pup), ("suck", "strong"), ("breathing", "easy")]).await;
    assert!(page.contains("Suck: strong") && page.contains("Breathing: easy"), "{page}");
}

#[tokio::test]
async fn night_begins_by_the_clock_and_a_tap_overrides_it() {
    let mut house = House::new().await;
    let at = house.litter(&[]).await;
    let now = format!("{at}/now");
    // 20:00 UTC is 21:00 in Berlin.
    let page = house.page(&now).await;
    assert!(page.contains("class=\"night\"") && page.contains("content=\"dark\""), "{page}");
    let head = page.find("<head>").unwrap();
    assert!(page.find("color-scheme").unwrap() - head < 120, "before anything is drawn");
    let page = house.saved("/device", &[("theme", "day"), ("back", &now)]).await;
    assert!(page.contains("class=\"day\"") && page.contains("content=\"light\""), "{page}");
}

#[tokio::test]
async fn assets_are_kept_by_their_hash_and_packed() {
    let mut house = House::new().await;
    let page = house.page("/").await;
    let path = format!("/assets/{}", between(&page, "href=\"/assets/", "\""));
    let request =
        Request::get(&path).header(header::HOST, HOST).header(header::ACCEPT_ENCODING, "br").body(Body::empty());
    let answer = house.send(request.unwrap()).await;
    assert_eq!(answer.headers[header::CONTENT_ENCODING], "br");
    assert!(answer.headers[header::CACHE_CONTROL].to_str().unwrap().contains("immutable"));
    let tag = answer.headers[header::ETAG].clone();
    let request = Request::get(&path).header(header::HOST, HOST).header(header::IF_NONE_MATCH, tag).body(Body::empty());
    assert_eq!(house.send(request.unwrap()).await.status, StatusCode::NOT_MODIFIED);
    assert_eq!(house.page("/healthz").await, "ok\n");
}

#[tokio::test]
async fn what_was_said_now_is_kept_as_advice() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "100")]).await;
    house.page(&format!("{at}/now")).await;
    let vet = house.page(&format!("{at}/vet")).await;
    assert!(vet.contains("Why now") && vet.contains("000 333 444") && vet.contains("Night clinic"), "{vet}");
}

#[tokio::test]
async fn a_pup_that_died_is_planned_for_no_more_and_the_words_are_kind() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "100"), ("Birch", "160")]).await;
    let pup = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    let page = house.saved(&format!("{at}/pup/{pup}/left"), &[("why", "died")]).await;
    assert!(page.contains("We are sorry"), "{page}");
    house.pass_minutes(12 * 60);
    let page = house.page(&format!("{at}/weigh")).await;
    assert!(!page.contains("Save for Ash") && page.contains("Save for Birch"), "{page}");
}

#[tokio::test]
async fn a_batch_too_small_to_weigh_says_that_only_a_part_is_used() {
    let mut house = House::new().await;
    let at = house.example().await;
    for page in ["milk", "sheet"] {
        let page = house.page(&format!("{at}/{page}")).await;
        assert!(page.contains("10\u{a0}g powder and 25\u{a0}mL water"), "{page}");
        assert!(page.contains("use 3\u{a0}mL of it"), "{page}");
    }
    let page = house.page(&format!("{at}/milk")).await;
    assert!(page.contains("Less cannot be weighed well"), "{page}");
    let page =
        house.saved(&format!("{at}/milk/mixed"), &[("volume_ml", "33"), ("powder_g", "10"), ("water_ml", "25")]).await;
    assert!(page.contains("33\u{a0}mL of replacer mixed"), "{page}");
}

#[tokio::test]
async fn a_litter_that_slows_as_a_whole_leads_to_the_dam() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "168"), ("Birch", "160")]).await;
    let link = format!("href=\"{at}/dam\"");
    let now = house.page(&format!("{at}/now")).await;
    assert!(!now.contains(&link), "nothing is slow yet");
    let ids = [(pup_id(&now, "Ash"), "168"), (pup_id(&now, "Birch"), "160")];
    // No gain of either in three days.
    for _ in 0..6 {
        house.pass_minutes(12 * 60);
        for (pup, weight) in &ids {
            house.saved(&format!("{at}/weigh"), &[("pup", pup), ("weight", weight), ("unit", "g")]).await;
        }
    }
    let now = house.page(&format!("{at}/now")).await;
    assert!(now.contains("Half of the pups or more grow too slowly") && now.contains(&link), "{now}");
}

#[tokio::test]
async fn over_the_home_network_the_fridge_sheet_leads_phones_to_the_litter() {
    let mut alone = House::new().await;
    let at = alone.litter(&[("Ash", "168")]).await;
    assert!(!alone.page(&format!("{at}/sheet")).await.contains("class=\"qr\""), "no phone can reach it");

    let house = House::over_network(AT).await;
    let link = access::phone_link(&house.store, &By::default(), "Ann", Role::Breeder, house.now()).await.unwrap();
    let mut phone = Browser::at(&house.router, "192.168.1.23:50001");
    let join = format!("/j/{link}");
    assert_eq!(phone.post(&join, &join, &[]).await.status, StatusCode::SEE_OTHER);
    let litter = [("name", "Clover"), ("breed", "Maltese"), ("scale_step_g", "1"), ("time_zone", "Europe/Berlin")];
    let at = phone.post("/new", "/new", &litter).await.location().strip_suffix("/now").unwrap().to_owned();
    let sheet = phone.get(&format!("{at}/sheet")).await.text;
    assert!(sheet.contains("class=\"qr\"") && sheet.contains(&format!("phone: http://{AT}{at}/now")), "{sheet}");
}

#[tokio::test]
async fn the_hours_of_a_carer_are_taken_as_the_hint_says_them() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "200")]).await;
    let settings = format!("{at}/settings");
    let carer = [("what", "carer"), ("name", "Tom"), ("available", "Mon-Fri 17:00-07:30; Sat-Sun 00:00-24:00")];
    let page = house.saved(&settings, &carer).await;
    assert!(page.contains("Tom"), "{page}");
    let wrong = [("what", "carer"), ("name", "Lena"), ("available", "always; 25:00")];
    let refused = house.post(&settings, &wrong).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text.contains("Mon-Fri 17:30-22:00"), "what is allowed is said: {}", refused.text);
}

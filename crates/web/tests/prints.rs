//! An invented litter of nine lives through ten weeks, and every print of it is made. The PDFs are looked
//! at by other programs in `scripts/check_prints`, for which they are left in the folder that
//! `WHELPWARD_PRINTS` names.

#[path = "support/nine.rs"]
mod nine;

use nine::{HARD, LIGHT, LOST, after_days};
use whelpward_core::review::{Beside, review};
use whelpward_print::{Paper, html, pdf};
use whelpward_web::print::{Print, Source, document};

/// Days on which a household prints: the first day, the loss, the orphans, weaning, the end.
const DAYS: [i64; 7] = [1, 3, 9, 16, 30, 57, 70];

fn page(print: Print, source: &Source, pup: Option<&str>) -> String {
    html::file(&document(print, source, pup).unwrap(), Paper::A4)
}

#[test]
fn every_print_of_ten_weeks_is_made_on_both_papers() {
    let facts = nine::facts();
    let folder = std::env::var("WHELPWARD_PRINTS").ok();
    for day in DAYS {
        let source = Source::new(&facts, None, after_days(day));
        for print in Print::ALL {
            for pup in [LIGHT, HARD, LOST] {
                if pup != LIGHT && !print.is_of_one_pup() {
                    continue;
                }
                let made = document(print, &source, Some(pup)).unwrap();
                let text = html::file(&made, Paper::A4);
                assert!(text.contains("INVENTED EXAMPLE"), "{print:?} on day {day}");
                assert!(text.contains("Nine by the brook"), "{print:?} on day {day}");
                assert!(!text.contains("<script"), "a mark of a pup became an element");
                for paper in [Paper::A4, Paper::Letter] {
                    let bytes = pdf::pdf(&made, paper).unwrap();
                    if let Some(folder) = &folder {
                        let who = if pup == HARD { "hard" } else { pup };
                        let name = format!("{folder}/{}-day{day}-{who}-{}", print.word(), paper.word());
                        std::fs::write(format!("{name}.pdf"), bytes).unwrap();
                        std::fs::write(format!("{name}.html"), html::file(&made, paper)).unwrap();
                    }
                }
            }
        }
    }
}

#[test]
fn the_fridge_sheet_of_the_orphans_has_a_row_and_an_amount_for_each() {
    let facts = nine::facts();
    let source = Source::new(&facts, None, after_days(16));
    let sheet = page(Print::Fridge, &source, None);
    for pup in source.today.pups.iter().filter(|p| p.next_feed.is_some()) {
        let name = pup.pup.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
        assert!(sheet.contains(&name), "{name}");
    }
    assert_eq!(source.today.pups.iter().filter(|p| p.next_feed.is_some()).count(), 8, "all live by hand");
    assert!(!sheet.contains(LOST), "nothing is planned for a pup that is not there");
    assert!(sheet.contains("powder and") && sheet.contains("at most"), "{sheet}");
}

/// Leaves a fridge sheet of the orphans beside the other prints.
fn leave_fridge_sheet(source: &Source, what: &str) {
    let Ok(folder) = std::env::var("WHELPWARD_PRINTS") else { return };
    let made = document(Print::Fridge, source, None).unwrap();
    for paper in [Paper::A4, Paper::Letter] {
        let name = format!("{folder}/fridge-day16-{what}-{}", paper.word());
        std::fs::write(format!("{name}.pdf"), pdf::pdf(&made, paper).unwrap()).unwrap();
        std::fs::write(format!("{name}.html"), html::file(&made, paper)).unwrap();
    }
}

/// Where a phone would find the litter; `scripts/check_prints.py` reads it from the printed code.
const ADDRESS: &str = "http://192.168.100.105:7317/litter/01a2b3c4-d5e6-7f80-9a1b-2c3d4e5f6071/now";

#[test]
fn the_fridge_sheet_leads_a_phone_to_the_litter_where_one_can_reach_it() {
    let source = Source::new(&nine::facts(), None, after_days(16));
    let sheet = page(Print::Fridge, &source, None);
    assert!(!sheet.contains("<svg") && !sheet.contains("The code opens this litter."), "no address, no code");
    let source = source.reached_at(ADDRESS.into());
    let sheet = page(Print::Fridge, &source, None);
    assert!(sheet.contains("<svg") && sheet.contains(&format!("camera of a phone: {ADDRESS}")), "{sheet}");
    for print in Print::ALL.into_iter().filter(|p| !matches!(p, Print::Fridge | Print::Vet | Print::Owner)) {
        assert!(!page(print, &source, None).contains("<svg"), "{print:?} is handed on, or has no plan of today");
    }
    // Of a litter without a hard name it is one page, as `scripts/check_prints.py` counts.
    let plain = nine::renamed(|name| if name == HARD { "Elder".into() } else { name.into() });
    leave_fridge_sheet(&Source::new(&plain, None, after_days(16)).reached_at(ADDRESS.into()), "code");
}

#[test]
fn hard_names_take_a_second_page_of_the_fridge_sheet_and_lose_nothing() {
    // No name is cut: a shortened one could be that of another pup.
    let hard = nine::renamed(|name| if name == HARD { name.into() } else { format!("{name}-{HARD}") });
    let source = Source::new(&hard, None, after_days(16)).reached_at(ADDRESS.into());
    let sheet = page(Print::Fridge, &source, None);
    assert!(!sheet.contains("<b>") && !sheet.contains("<script"), "a name or a mark became an element");
    let here: Vec<String> = source.pups_here().map(|p| p.id.0.clone()).collect();
    assert_eq!(here.len(), 8);
    for name in here {
        let name = name.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
        assert!(sheet.contains(&name), "{name}");
    }
    leave_fridge_sheet(&source, "hardnames");
}

#[test]
fn the_record_of_a_pup_holds_what_was_done_and_nothing_of_another_owner() {
    let facts = nine::facts();
    let source = Source::new(&facts, None, after_days(70));
    let record = page(Print::Owner, &source, Some(LIGHT));
    // Teasel is the eighth pup, written with the number 7.
    for held in [
        "999000000000007",
        "Invented household 7",
        "Worm paste (invented)",
        "L-0417",
        "V-22",
        "distemper and parvo",
        "268",
    ] {
        assert!(record.contains(held), "{held}");
    }
    assert_eq!(record.matches("Worm paste (invented)").count(), 4, "weeks 2, 4, 6 and 8");
    assert!(!record.contains("Invented household 3"), "another new owner");
    let early = page(Print::Owner, &Source::new(&facts, None, after_days(1)), Some(LIGHT));
    assert!(early.contains("not recorded") && !early.contains("999000000000007"), "later facts are not known yet");
}

#[test]
fn the_record_of_a_pup_says_what_comes_next_and_when_it_may_go_home() {
    let facts = nine::facts();
    let record = |day: i64| page(Print::Owner, &Source::new(&facts, None, after_days(day)), Some(LIGHT));
    // By hand, from the birth on 1 September: on day 30 wormed on days 14 and 28, so next on day 42 (13 October);
    // WSAVA's first vaccination from week 6; by the strictest law the chip by day 56 (27 October) and home from
    // day 57 (28 October).
    let young = record(30);
    for held in ["Next dates", "13 Oct 2026", "27 Oct 2026", "From 28 Oct 2026 on at the earliest", "Not yet: "] {
        assert!(young.contains(held), "{held}: {young}");
    }
    assert!(young.contains("a veterinarian decides product, dose and day"), "{young}");
    let (told, grounds) = young.split_once("By which rule").unwrap().1.split_once("Going home").unwrap();
    assert!(told.contains("ESCCAP") && told.contains("WSAVA"), "each date has its rule: {told}");
    assert!(grounds.contains("no chip is written down") || grounds.contains("No chip is written down"), "{grounds}");
    let old = record(70);
    assert!(old.contains("done 27 Oct 2026"), "chipped on day 56: {old}");
}

#[test]
fn the_page_for_the_vet_says_why_now_and_what_is_not_known() {
    let facts = nine::facts();
    let at = nine::born() + jiff::SignedDuration::from_hours(37);
    let vet = page(Print::Vet, &Source::new(&facts, None, at), None);
    // The most urgent pup is the one that was cold at 36.5 h.
    for held in [LOST, "Why now", "34.2", "000 111 222", "What is not known", "Never written down"] {
        assert!(vet.contains(held), "{held}: {vet}");
    }
    assert!(vet.contains("9 born, 9 here, 0 lost"), "{vet}");
}

#[test]
fn looking_back_counts_the_loss_the_overslept_round_and_the_nights() {
    let facts = nine::facts();
    let back = review(&facts, &Beside::default(), after_days(70));
    assert_eq!(
        (back.losses.born, back.losses.stillborn, back.losses.died_first_two_days, back.losses.here),
        (9, 0, 1, 8)
    );
    // By hand: two pups had trouble of their own, the one that was lost and the light one with the vet's order;
    // both lost weight before it. The others were fed by hand only while the dam was ill.
    assert_eq!((back.warnings.troubles, back.warnings.missed, back.warnings.right), (2, 0, 2), "{:?}", back.warnings);
    assert_eq!(back.warnings.right + back.warnings.false_ones, back.warnings.warnings, "all are decided by day 70");
    assert!(back.hours_to_action.is_some());
    // By hand: eight pups, seven feeds each while the dam was ill (one round was overslept), so six gaps, of
    // which one is 12 h; the longest gap in the third week is 6 h.
    assert_eq!((back.gaps.of, back.gaps.late, back.gaps.missed), (48, 0, 8));
    // By hand: Robin fed at 02:00 or 03:00 in ten nights of the top-up and two of the orphans, Kim by day only;
    // the last feed by hand is in the 17th day.
    let nights: Vec<_> = back.nights.iter().map(|n| (n.carer.as_str(), n.broken, n.of)).collect();
    assert_eq!(nights, [("Robin", 12, 17), ("Kim", 0, 17)]);
    let milk = back.milk.unwrap();
    assert!(milk.mixed.is_none(), "a folder holds no batches: unknown, not none");
    let printed = page(Print::Review, &Source::new(&facts, None, after_days(70)), None);
    assert!(printed.contains("A folder has no place for one") && printed.contains("Milk fed by hand"), "{printed}");
    assert!((1..=3).contains(&back.facts.len()) && (1..=3).contains(&back.changes.len()));
    assert!(back.facts[0].starts_with("9 born alive of 9; 1 of these was lost"), "{:?}", back.facts);
}

#[test]
fn a_print_about_an_unknown_pup_names_those_that_there_are() {
    let source = Source::new(&nine::facts(), None, after_days(3));
    let said = document(Print::Vet, &source, Some("Nobody")).unwrap_err();
    assert!(said.contains("Nobody") && said.contains("Alder"), "{said}");
}

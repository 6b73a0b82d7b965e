//! The report as text, within 80 columns, readable without colour.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use textwrap::Options;
use whelpward_core::report::{
    Action, BatchLine, Cite, Feed, NeedLine, PupLine, RoundLine, ShiftLine, ShortfallLine, Today, TroubleLine,
    assess::GrowthLine, clock, dam::HandBackLine, stages::DateLine,
};
use whelpward_core::units::{
    Celsius, Grams, Kcal, KcalPerMl, Millilitres, Percent, format_quantity, number, tie_numbers,
};

pub(crate) const WIDTH: usize = 80;

/// The whole answer; with `why`, every working and source.
pub fn text(report: &Today, why: bool) -> String {
    let mut page = Page { out: String::new(), zone: TimeZone::get(&report.time_zone).unwrap_or(TimeZone::UTC) };
    page.header(report);
    page.do_now(report);
    page.dates(&report.dates);
    page.pups(report);
    page.batch(report);
    page.rounds(report);
    page.doubtful_or_missing(report);
    if !report.how_to_feed.is_empty() {
        page.how_to_feed(report, why);
    }
    if why {
        page.working(report);
    } else {
        page.heading("MORE");
        page.line("", "--why shows how each amount was worked out, with every source; --json gives all of it as data.");
    }
    page.blank();
    page.line("", &report.caution);
    page.out
}

pub(crate) struct Page {
    pub out: String,
    pub zone: TimeZone,
}

impl Page {
    pub fn blank(&mut self) {
        self.out.push('\n');
    }

    pub fn heading(&mut self, text: &str) {
        self.out.push_str(&format!("\n{text}\n"));
    }

    /// A paragraph behind a first indent; later lines hang below the text.
    pub fn line(&mut self, first: &str, text: &str) {
        let rest = " ".repeat(first.chars().count());
        let options = Options::new(WIDTH).initial_indent(first).subsequent_indent(&rest).break_words(false);
        for line in textwrap::wrap(&tie_numbers(text), options) {
            self.out.push_str(line.trim_end());
            self.out.push('\n');
        }
    }

    pub fn clock(&self, iso: &str) -> String {
        clock(instant(iso), &self.zone)
    }

    fn header(&mut self, report: &Today) {
        let now = instant(&report.at);
        let age = report.litter_age_days.map_or("expecting".into(), |d| format!("{d} days old"));
        self.line("", &format!("{}, {}: {}", report.litter, age, clock::date_and_clock(now, &self.zone)));
        let mut born = format!("{} born", report.pups_born);
        if report.pups_stillborn > 0 {
            born.push_str(&format!(", {} of them stillborn", report.pups_stillborn));
        }
        self.line("", &format!("{born}, {} here; {}.", report.pups_here, report.dam));
        if let Some(note) = &report.example_note {
            self.line("", &format!("INVENTED EXAMPLE: {note}"));
        }
        if let Some(change) = &report.clock_change {
            self.line("", change);
        }
    }

    fn do_now(&mut self, report: &Today) {
        self.heading("WHAT TO DO NOW");
        if report.do_now.is_empty() {
            let text = match report.rounds.first() {
                Some(round) => format!("Nothing now. Next round at {}.", self.clock(&round.at)),
                None => "Leave them to their mother. Nothing is due now.".into(),
            };
            self.line("    ", &text);
        }
        if let Some(why) = &report.no_amounts_because {
            self.line(" !  ", &format!("No amount can be planned: {why}."));
        }
        let mut has_shown_phones = false;
        for (i, group) in grouped(&report.do_now).enumerate() {
            let action = &group[0];
            self.line(&format!("{:>2}. ", i + 1), &title(action));
            if !matches!(action.because.as_str(), "" | "a feed is due") {
                for one in group {
                    self.line("    ", &sentence(&one.because));
                }
            }
            self.line("    ", &sentence(&action.what_to_do));
            for feed in &action.feeds {
                self.feed(feed);
            }
            let rules: Vec<&str> = group.iter().filter_map(|a| a.source.as_ref()).map(|s| s.source.as_str()).collect();
            if !rules.is_empty() {
                self.line("    ", &format!("Rule: {}.", rules.join("; ")));
            }
            if action.kind.starts_with("vet") && !has_shown_phones {
                self.phones(report);
                has_shown_phones = true;
            }
        }
        // Whatever is to be done may turn into a call; the numbers stand on every page with a task.
        if !has_shown_phones && !report.do_now.is_empty() {
            self.phones(report);
        }
        self.weigh_next(report);
    }

    /// What has a day and no hour; it never stands before a feed.
    pub fn dates(&mut self, dates: &[DateLine]) {
        if dates.is_empty() {
            return;
        }
        self.heading("DATES");
        for date in dates {
            let until = date
                .by
                .as_ref()
                .filter(|_| date.state == "due")
                .map_or(String::new(), |by| format!(" until {}", day_words(by)));
            self.line("    - ", &format!("{}{until}: {}, {}.", date.state.to_uppercase(), date.title, whom(date)));
            self.line("      ", &sentence(&date.because));
        }
    }

    fn phones(&mut self, report: &Today) {
        if report.vets.is_empty() {
            self.line("    TEL ", "no number recorded: look it up now and add [[vet]] to litter.toml");
        }
        for vet in &report.vets {
            let hours = vet.hours.as_ref().map_or(String::new(), |h| format!(" ({h})"));
            self.line("    TEL ", &format!("{}: {}{hours}", vet.name, vet.phone));
        }
        if let Some(next) = &report.if_no_answer {
            self.line("    ", &next.text);
        }
    }

    fn feed(&mut self, feed: &Feed) {
        let first = format!("    {}: ", feed.pup);
        self.line(&first, &feed_words(feed));
        if !feed.only_after.is_empty() {
            self.line("      ", &format!("only after you have checked: {}", feed.only_after.join(", ")));
        }
    }

    /// Weighings of one half hour are one round.
    fn weigh_next(&mut self, report: &Today) {
        let now = instant(&report.at);
        let mut later: Vec<(Timestamp, &str)> =
            report.weigh_next.iter().map(|w| (instant(&w.at), w.pup.as_str())).filter(|(at, _)| *at > now).collect();
        later.sort();
        let mut rounds: Vec<(Timestamp, Vec<&str>)> = Vec::new();
        for (at, pup) in later {
            match rounds.last_mut() {
                Some((first, pups)) if (at - *first).as_mins() <= 30 => pups.push(pup),
                _ => rounds.push((at, vec![pup])),
            }
        }
        let words: Vec<String> =
            rounds.iter().map(|(at, pups)| format!("{}: {}", self.day_and_clock(*at, now), pups.join(", "))).collect();
        if !words.is_empty() {
            self.blank();
            self.line("    ", &format!("Weigh next {}.", words.join("; ")));
        }
    }

    fn day_and_clock(&self, at: Timestamp, now: Timestamp) -> String {
        let day = clock::day(at, &self.zone);
        let time = clock(at, &self.zone);
        if day == clock::day(now, &self.zone) { time } else { format!("{day} {time}") }
    }

    fn pups(&mut self, report: &Today) {
        self.heading("THE PUPS");
        for pup in &report.pups {
            self.line("", &format!("{} ({}, {}): {}", pup.pup, pup.sex, pup.marks, pup.standing.to_uppercase()));
            self.line("    ", &weight_words(self, pup));
            if let Some(growth) = pup.growth.as_ref().filter(|g| g.is_enough_data) {
                self.line("    ", &expected_words(growth));
            }
            let next = match (&pup.next_feed, &pup.no_feed_because) {
                (Some(feed), _) => {
                    format!("Next feed {}: {}{}", self.clock(&feed.at), feed_words(feed), after_check(feed))
                }
                (None, why) => format!("Feed: {}", why.as_deref().unwrap_or("not planned")),
            };
            self.line("    ", &sentence(&next));
            // Beside a top-up it matters how much comes from the dam; `whelpward dam` has it of every pup.
            if let Some(milk) = pup.from_dam.estimate.as_ref().filter(|_| pup.need.is_some()) {
                self.line("    ", &sentence(&milk.shown));
                self.line("    ", &milk.surer);
            }
            if let Some(plan) = &pup.hand_back {
                self.hand_back(plan, instant(&report.at));
            }
            for finding in &pup.findings {
                self.line("    - ", &format!("{}: {}", finding.level, finding.because));
            }
        }
        self.shortfalls(&report.shortfalls);
        for line in &report.large_feeds {
            self.line("    ! ", &format!("{}: {}", line.pup, line.text));
        }
    }

    /// The steps back to the dam.
    fn hand_back(&mut self, plan: &HandBackLine, now: Timestamp) {
        let time = |page: &Self, iso: &str| page.day_and_clock(instant(iso), now);
        for step in &plan.steps {
            let weigh: Vec<String> = step.weigh_at.iter().map(|at| time(self, at)).collect();
            let part = match step.share_percent {
                share if share > 0.0 => format!("{} of the top-up", shown_percent(share)),
                _ => "nothing by hand".to_owned(),
            };
            let text =
                format!("Back to the dam: from {} {part}; weigh at {}.", time(self, &step.from), weigh.join(" and "));
            self.line("    ", &text);
        }
        self.line("    ", &sentence(&format!("Done when {}; stop at {}", plan.success, plan.stop)));
    }

    /// The same sentence is said once, for all the pups that it is true of.
    fn shortfalls(&mut self, lines: &[ShortfallLine]) {
        let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
        for line in lines.iter().filter(|l| l.kind != "rounding") {
            match said.iter_mut().find(|(text, _)| *text == line.text) {
                Some((_, pups)) => pups.push(&line.pup),
                None => said.push((&line.text, vec![&line.pup])),
            }
        }
        for (text, pups) in said {
            self.line("  ! ", &sentence(&format!("{}: {text}", pups.join(", "))));
        }
        let rounding: Vec<String> = lines
            .iter()
            .filter(|l| l.kind == "rounding")
            .filter_map(|l| Some(format!("{} ({})", shown(l.missing_kcal?, &Kcal::ROW), l.pup)))
            .collect();
        if !rounding.is_empty() {
            let text = format!("Rounding down to syringe marks leaves out of a day's need: {}.", rounding.join(", "));
            self.line("  ! ", &text);
        }
    }

    fn batch(&mut self, report: &Today) {
        if let Some(batch) = &report.batch {
            self.heading(&format!("MILK FOR THE ROUND AT {}", self.clock(&batch.for_round_at)));
            for note in &report.milk_notes {
                self.line("  ! ", &format!("{} ({})", note.text, note.source.source));
            }
            self.recipe(batch);
        }
    }

    fn recipe(&mut self, batch: &BatchLine) {
        let celsius = |v: f64| shown(v, &Celsius::ROW);
        let strength = shown(batch.strength_kcal_per_ml, &KcalPerMl::ROW);
        let parts = format!("{} for the pups, {} stays in the kit", ml(batch.fed_ml), ml(batch.stays_in_the_kit_ml));
        match &batch.powder {
            Some(p) => {
                let grams = shown(p.powder_g, &Grams::ROW);
                let scoops =
                    p.scoops.map_or(String::new(), |s| format!(" (weighed; about {} scoops)", number(s, 1, false)));
                let why = if p.is_more_than_wanted { " Less cannot be weighed well on this scale." } else { "" };
                let text = format!(
                    "Mix {}: {grams} powder{scoops} and {} water make {} of {strength}. Use {} ({parts}).{why}",
                    batch.milk,
                    ml(p.water_ml),
                    ml(batch.volume_ml),
                    ml(batch.wanted_ml),
                );
                self.line("    ", &text);
                self.line(
                    "    ",
                    &format!(
                        "Water at {}: about {} at {} and {} at {}; the thermometer decides.",
                        celsius(batch.mixing_temperature_c),
                        ml(p.hot_water_ml),
                        celsius(p.hot_water_c),
                        ml(p.cold_water_ml),
                        celsius(p.cold_water_c)
                    ),
                );
            }
            None => {
                self.line("    ", &format!("Pour {} of {}, {strength} ({parts}).", ml(batch.volume_ml), batch.milk));
            }
        }
        let cool =
            if batch.must_cool { "The label's water is hotter than a pup may be fed: cool it first. " } else { "" };
        self.line("    ", &format!(
            "{cool}Feed at {} to {}. Throw away what was warmed and left by {}; refrigerated and never warmed, by {}.",
            celsius(batch.feed_at_c[0]), celsius(batch.feed_at_c[1]),
            self.clock(&batch.throw_away_leftovers_at),
            clock::date_and_clock(instant(&batch.throw_away_refrigerated_at), &self.zone)
        ));
    }

    fn rounds(&mut self, report: &Today) {
        if report.rounds.is_empty() {
            return;
        }
        self.heading("FEEDING ROUNDS OF THE NEXT 24 HOURS");
        let feeds = || report.rounds.iter().flat_map(|r| &r.feeds);
        if feeds().any(|f| !f.only_after.is_empty()) {
            self.line("    ", "Each amount only for a pup that is warm and sucking when its time comes.");
        }
        if let Some(trouble) = &report.timetable_trouble {
            self.trouble(trouble);
        }
        // Rounds that give the same are one line with several times.
        let mut same: Vec<(String, Vec<&RoundLine>)> = Vec::new();
        for round in &report.rounds {
            let words = format!("{}{}", carer_words(round), round_words(round));
            match same.last_mut() {
                Some((last, rounds)) if *last == words => rounds.push(round),
                _ => same.push((words, vec![round])),
            }
        }
        for (words, rounds) in same {
            let now = instant(&report.at);
            let mut times: Vec<String> = Vec::new();
            let mut day = clock::day(now, &self.zone);
            for round in rounds {
                let at = instant(&round.at);
                let this_day = clock::day(at, &self.zone);
                let time = self.clock(&round.at);
                times.push(if this_day == day && !times.is_empty() { time } else { format!("{this_day} {time}") });
                day = this_day;
            }
            self.line("    ", &format!("{}:", times.join(", ")));
            self.line("        ", &words);
        }
        if feeds().any(must_weigh_first) {
            self.line("    ", "* weigh first; if you cannot, not more than this");
        }
    }

    /// Why the carers' hours allow no timetable, and what would.
    pub fn trouble(&mut self, trouble: &TroubleLine) {
        self.line("  ! ", "No timetable keeps every gap with the carers' hours as they are:");
        for why in &trouble.because {
            self.line("    - ", &sentence(why));
        }
        for (i, help) in trouble.what_would_help.iter().enumerate() {
            let first = if i == 0 { "    What would help, the cheapest first: " } else { "    Or: " };
            self.line("    ", &sentence(&format!("{}{help}", first.trim_start())));
        }
    }

    fn doubtful_or_missing(&mut self, report: &Today) {
        self.heading("DOUBTFUL OR MISSING");
        for doubt in &report.doubts {
            let what = match (doubt.is_settled, doubt.is_held_back) {
                (true, _) => "left out",
                (false, true) => "held back: weigh again",
                (false, false) => "counted until weighed again",
            };
            let at = clock::date_and_clock(instant(&doubt.at), &self.zone);
            self.line("    - ", &format!("{}: {} at {at}: {} ({what})", doubt.pup, doubt.reading, doubt.suspicion));
        }
        for missing in &report.missing {
            self.line("    - ", missing);
        }
        if report.doubts.is_empty() && report.missing.is_empty() {
            self.line("    ", "Nothing.");
        }
    }

    fn how_to_feed(&mut self, report: &Today, why: bool) {
        self.heading("HOW TO FEED");
        for said in &report.how_to_feed {
            let source = if why || said.source.status != "published" {
                format!(" [{}]", short(&said.source, why))
            } else {
                String::new()
            };
            self.line("    - ", &format!("{}{source}", said.text));
        }
    }

    fn working(&mut self, report: &Today) {
        self.heading("WHY");
        for pup in &report.pups {
            self.line("", &pup.pup.clone());
            if let Some(growth) = &pup.growth {
                self.growth(growth);
            }
            if let Some(need) = &pup.need {
                self.need(need);
            }
            for finding in &pup.findings {
                self.line("    - ", &format!("{}: {} [{}]", finding.level, finding.because, finding.source.source));
            }
        }
    }

    fn growth(&mut self, growth: &GrowthLine) {
        self.line(
            "    ",
            &format!(
                "growth model: weight behind the readings {}, {}; faltering with {} in 100 [{}]",
                growth.shown.weight,
                gain_words(growth),
                number(100.0 * growth.p_faltering, 0, false),
                whelpward_core::references::GROWTH_MODEL.cite()
            ),
        );
        for says in &growth.says {
            self.line("    ", says);
        }
    }

    fn need(&mut self, need: &NeedLine) {
        for term in &need.working {
            let source = term.source.as_ref().map_or(String::new(), |s| format!(" [{}]", s.source));
            self.line("    ", &format!("{}: {}{source}", term.what, term.value));
        }
        for other in &need.other_published_energy {
            self.line(
                "    ",
                &format!(
                    "beside it: {} kcal per 100 g and day, {} [{}]",
                    number(other.kcal_per_100g_day, 1, false),
                    other.name,
                    other.source.source
                ),
            );
        }
    }
}

pub(crate) fn instant(iso: &str) -> Timestamp {
    iso.parse().expect("the report writes ISO 8601")
}

pub(crate) fn must_weigh_first(feed: &Feed) -> bool {
    feed.only_after.iter().any(|c| c.starts_with("weigh first"))
}

fn after_check(feed: &Feed) -> String {
    if feed.only_after.is_empty() {
        String::new()
    } else {
        format!("; only after you have checked: {}", feed.only_after.join(", "))
    }
}

/// `Sam (woken), Kit: `
pub(crate) fn carer_words(round: &RoundLine) -> String {
    if round.carers.is_empty() { String::new() } else { format!("{}: ", shifts(&round.carers)) }
}

/// The pups of a date, and the dam.
fn whom(date: &DateLine) -> String {
    let dam = date.dam.then_some("the dam");
    date.pups.iter().map(String::as_str).chain(dam).collect::<Vec<_>>().join(", ")
}

/// A day as it is said: Mon 16 Mar.
pub(crate) fn day_words(iso: &str) -> String {
    iso.parse::<jiff::civil::Date>().map_or_else(|_| iso.to_owned(), |d| d.strftime("%a %-d %b").to_string())
}

/// Who is on a round.
pub(crate) fn shifts(carers: &[ShiftLine]) -> String {
    let name = |c: &ShiftLine| if c.is_woken { format!("{} (woken)", c.carer) } else { c.carer.clone() };
    carers.iter().map(name).collect::<Vec<_>>().join(", ")
}

pub(crate) fn round_words(round: &RoundLine) -> String {
    let feeds = round.feeds.iter().map(|f| {
        let mark = if must_weigh_first(f) { "*" } else { "" };
        format!("{}\u{a0}{}{mark}", f.pup.replace(' ', "\u{a0}"), ml(f.amount_ml))
    });
    let withheld = round.withheld.iter().map(|w| format!("{}: {}", w.pup, w.because));
    feeds.chain(withheld).collect::<Vec<_>>().join("; ")
}

/// Neighbouring findings about the same pup that ask for the same thing are one task.
fn grouped(actions: &[Action]) -> impl Iterator<Item = &[Action]> {
    actions
        .chunk_by(|a, b| a.kind == b.kind && a.about == b.about && a.what_to_do == b.what_to_do && a.feeds.is_empty())
}

fn shown(value: f64, row: &whelpward_core::units::QuantityRow) -> String {
    format_quantity(value, row)
}

pub(crate) fn ml(value: f64) -> String {
    shown(value, &Millilitres::ROW)
}

fn short(cite: &Cite, why: bool) -> String {
    if why { cite.source.clone() } else { cite.status.clone() }
}

fn title(action: &Action) -> String {
    format!("{}: {}", action.kind.to_uppercase(), action.about)
}

/// Starts with a capital and ends with a full stop.
pub(crate) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let text = chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect());
    if text.ends_with(['.', '!', '?', ':']) { text } else { format!("{text}.") }
}

fn feed_words(feed: &Feed) -> String {
    let how = match feed.tube_carers.as_slice() {
        [] => format!("by {}", feed.method),
        carers => format!("by tube, only {}", carers.join(" or ")),
    };
    let order = feed.ordered_by.as_ref().map_or(String::new(), |vet| format!(", ordered by {vet}"));
    format!("{} {how}{order}; never more than {}", ml(feed.amount_ml), ml(feed.at_most_ml))
}

/// `+24 g per day (give or take 6 g), 6 % per day`
pub(crate) fn gain_words(growth: &GrowthLine) -> String {
    let shown = &growth.shown;
    format!(
        "{} per day (give or take {}), {} per day",
        shown.gain_per_day,
        shown.give_or_take,
        shown_percent(shown.percent_per_day)
    )
}

fn shown_percent(value: f64) -> String {
    shown(value, &Percent::ROW)
}

pub(crate) fn expected_words(growth: &GrowthLine) -> String {
    let [middle, low, high] = &growth.shown.in_24_h;
    format!("24 h after that about {middle} is expected (9 in 10: {low} to {high}).")
}

fn weight_words(page: &Page, pup: &PupLine) -> String {
    let Some(weight) = &pup.weight else { return "Never weighed.".into() };
    let at = pup.weighed_at.as_ref().map_or(String::new(), |iso| clock::date_and_clock(instant(iso), &page.zone));
    let mut words = format!("{weight} on {at}");
    if let Some(growth) = pup.growth.as_ref().filter(|g| g.is_enough_data) {
        words.push_str(&format!("; {}", gain_words(growth)));
    }
    if let Some(change) = pup.change_from_birth_percent {
        words.push_str(&format!(
            "; {}{}\u{a0}% since birth",
            if change >= 0.0 { "+" } else { "" },
            number(change, 0, false)
        ));
    }
    words + "."
}

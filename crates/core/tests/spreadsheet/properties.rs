//! Laws over random tables: what we write comes back exact, and nothing brings the reader down.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::time;
use jiff::tz::TimeZone;
use proptest::prelude::*;
use proptest::test_runner::{Config, FileFailurePersistence};
use whelpward_core::record::WeightUnit;
use whelpward_core::spreadsheet::{
    About, Answers, Context, DateOrder, DecimalMark, Guess, Layout, NoTime, Separator, Sheet, SheetPup, SheetUnit,
    guess, guess_again, read,
};

use super::nothing_is_lost;

const PUPS: [&str; 4] = ["Ash", "Sedge", "Juniper", "Rowan tree"];

/// How one household writes its table.
#[derive(Debug, Clone)]
#[expect(clippy::struct_excessive_bools, reason = "each is a coin of its own")]
struct Habits {
    zone: &'static str,
    layout: Layout,
    separator: Separator,
    decimal_comma: bool,
    groups: bool,
    date_form: usize,
    time_beside: bool,
    unit: SheetUnit,
    unit_in_heading: bool,
    encoding: usize,
    line_end: &'static str,
    pups: usize,
    /// For each time: minutes after the birth, and a weight in tenths of a gram for each pup or none.
    times: Vec<(u32, Vec<Option<u32>>)>,
}

fn habits() -> impl Strategy<Value = Habits> {
    let how = (
        prop::sample::select(vec!["Europe/Berlin", "America/New_York"]),
        prop::sample::select(vec![Layout::Long, Layout::PupColumns, Layout::DateColumns]),
        prop::sample::select(Separator::ALL.to_vec()),
        any::<bool>(),
        any::<bool>(),
        0..6_usize,
        any::<bool>(),
        prop::sample::select(vec![SheetUnit::Gram, SheetUnit::Kilogram, SheetUnit::InCells]),
        any::<bool>(),
    );
    let file = (0..3_usize, prop::sample::select(vec!["\n", "\r\n", "\r"]), 1..=4_usize);
    let weight = prop::option::weighted(0.8, prop_oneof![300..250_000_u32, (30..25_000_u32).prop_map(|g| g * 10)]);
    let times = prop::collection::btree_map(0..86_400_u32, prop::collection::vec(weight, 4), 1..8);
    (how, file, times).prop_map(|(how, file, times)| Habits {
        zone: how.0,
        layout: how.1,
        separator: how.2,
        decimal_comma: how.3,
        groups: how.4,
        date_form: how.5,
        time_beside: how.6,
        unit: how.7,
        unit_in_heading: how.8,
        encoding: file.0,
        line_end: file.1,
        pups: file.2,
        times: times.into_iter().collect(),
    })
}

fn born() -> Timestamp {
    "2027-03-01T00:00Z".parse().unwrap()
}

impl Habits {
    fn context(&self) -> Context {
        Context {
            zone: TimeZone::get(self.zone).unwrap(),
            pups: PUPS[..self.pups].iter().map(|id| SheetPup { id: (*id).into(), born_at: born() }).collect(),
            carers: Vec::new(),
            household_unit: SheetUnit::Gram,
        }
    }

    /// Times that the household's clock names without doubt, with their weights.
    fn weighings(&self) -> Vec<(Timestamp, &[Option<u32>])> {
        let zone = self.context().zone;
        self.times
            .iter()
            .map(|(minutes, weights)| {
                let at = Timestamp::from_second(born().as_second() + i64::from(*minutes) * 60).unwrap();
                (at, &weights[..self.pups])
            })
            .filter(|(at, _)| !zone.to_ambiguous_timestamp(zone.to_datetime(*at)).is_ambiguous())
            .collect()
    }

    fn date_order(&self) -> DateOrder {
        if matches!(self.date_form, 2 | 4) { DateOrder::MonthFirst } else { DateOrder::DayFirst }
    }

    fn date(&self, at: Timestamp) -> String {
        let local = self.context().zone.to_datetime(at);
        let form = ["%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y", "%d/%m/%y", "%-m/%-d/%y", "%-d %b %Y"][self.date_form];
        local.strftime(form).to_string()
    }

    fn clock(&self, at: Timestamp) -> String {
        self.context().zone.to_datetime(at).strftime("%H:%M").to_string()
    }

    fn number(&self, tenths: u32) -> String {
        let (whole, rest) = match self.unit {
            SheetUnit::Kilogram => (tenths / 10_000, format!("{:04}", tenths % 10_000)),
            _ => (tenths / 10, (tenths % 10).to_string()),
        };
        let rest = rest.trim_end_matches('0');
        let (mark, group) = if self.decimal_comma { (",", ".") } else { (".", ",") };
        let mut text = whole.to_string();
        if self.groups && whole >= 1000 {
            text.insert_str(text.len() - 3, group);
        }
        if !rest.is_empty() {
            text = format!("{text}{mark}{rest}");
        }
        if self.unit == SheetUnit::InCells { format!("{text} g") } else { text }
    }

    fn heading(&self, name: &str) -> String {
        match self.unit {
            SheetUnit::InCells => name.to_owned(),
            unit if self.unit_in_heading => format!("{name} ({})", unit.words()),
            _ => name.to_owned(),
        }
    }

    fn table(&self) -> Vec<Vec<String>> {
        let weighings = self.weighings();
        let moment = |at: Timestamp| {
            if self.time_beside {
                vec![self.date(at), self.clock(at)]
            } else {
                vec![format!("{} {}", self.date(at), self.clock(at))]
            }
        };
        let moment_heads: Vec<String> =
            if self.time_beside { vec!["Date".into(), "Time".into()] } else { vec!["Date and time".into()] };
        let cell = |weight: &Option<u32>| weight.map_or(String::new(), |w| self.number(w));
        let mut table = Vec::new();
        match self.layout {
            Layout::Long => {
                table.push([vec!["Pup".into()], moment_heads, vec![self.heading("Weight")]].concat());
                for (at, weights) in weighings {
                    for (pup, weight) in PUPS.iter().zip(weights) {
                        table.push([vec![(*pup).to_owned()], moment(at), vec![cell(weight)]].concat());
                    }
                }
            }
            Layout::PupColumns => {
                let pups = PUPS[..self.pups].iter().map(|p| self.heading(p)).collect();
                table.push([moment_heads, pups].concat());
                for (at, weights) in weighings {
                    table.push([moment(at), weights.iter().map(cell).collect()].concat());
                }
            }
            Layout::DateColumns => {
                let mut head = vec!["Pup".to_owned()];
                head.extend(
                    weighings.iter().map(|(at, _)| self.heading(&format!("{} {}", self.date(*at), self.clock(*at)))),
                );
                table.push(head);
                for (n, pup) in PUPS[..self.pups].iter().enumerate() {
                    let mut row = vec![(*pup).to_owned()];
                    row.extend(weighings.iter().map(|(_, weights)| cell(&weights[n])));
                    table.push(row);
                }
            }
        }
        table
    }

    fn bytes(&self) -> Vec<u8> {
        let mark = self.separator.mark();
        let quote = |cell: &String| {
            if cell.contains(mark) { format!("\"{cell}\"") } else { cell.clone() }
        };
        let lines: Vec<String> =
            self.table().iter().map(|row| row.iter().map(quote).collect::<Vec<_>>().join(mark)).collect();
        let text = lines.join(self.line_end);
        match self.encoding {
            0 => text.into_bytes(),
            1 => format!("\u{feff}{text}").into_bytes(),
            _ => std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(u16::to_be_bytes).collect(),
        }
    }

    fn answer(&self, about: &About, answers: &mut Answers) {
        match about {
            About::Separator => answers.separator = Some(self.separator),
            About::DecimalMark => {
                answers.decimal = Some(if self.decimal_comma { DecimalMark::Comma } else { DecimalMark::Point });
            }
            About::Thousands => answers.thousands = Some(self.groups),
            About::DateOrder => answers.date_order = Some(self.date_order()),
            About::Unit => answers.unit = Some(self.unit),
            other => panic!("{other:?} need not be asked"),
        }
    }
}

fn config(cases: u32) -> Config {
    Config {
        cases,
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct("proptest-regressions/spreadsheet.txt"))),
        ..Config::default()
    }
}

proptest! {
    #![proptest_config(config(400))]

    #[test]
    fn what_a_household_writes_comes_back_exact(habits in habits()) {
        let weighings = habits.weighings();
        prop_assume!(weighings.iter().any(|(_, w)| w.iter().any(Option::is_some)));
        let (bytes, context) = (habits.bytes(), habits.context());
        let mut answers = Answers::default();
        let mut found = guess(&bytes, &context).unwrap();
        for _ in 0..6 {
            let Some(question) = found.open_questions().first().cloned() else { break };
            habits.answer(&question.about, &mut answers);
            found = guess_again(&bytes, &context, &answers).unwrap();
        }
        let confirmed = found.confirm().map_err(|q| TestCaseError::fail(format!("{q:?}")))?;
        let sheet = read(&bytes, &confirmed, &context);
        prop_assert!(sheet.problems.is_empty(), "{:?}", sheet.problems);
        let expected: BTreeSet<(String, Timestamp, i64)> = weighings
            .iter()
            .flat_map(|(at, weights)| {
                PUPS.iter().zip(*weights).filter_map(|(p, w)| Some(((*p).to_owned(), *at, i64::from((*w)?) * 100)))
            })
            .collect();
        let read: BTreeSet<(String, Timestamp, i64)> = sheet
            .rows
            .iter()
            .map(|(_, v)| {
                let text = |name: &str| v[name].as_str().unwrap();
                let unit = WeightUnit::from_word(text("unit")).unwrap();
                let weight = unit.parse(text("weight")).unwrap().milligrams();
                (text("pup").to_owned(), text("weighed_at").parse().unwrap(), weight)
            })
            .collect();
        prop_assert_eq!(&read, &expected);
        prop_assert_eq!(read.len(), sheet.rows.len());
        prop_assert_eq!(sheet.rows.len() + sheet.blanks, sheet.cells);
        prop_assert_eq!(sheet.cells, weighings.len() * habits.pups);
    }

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        read_somehow(&bytes);
    }

    #[test]
    fn random_cells_never_panic(text in "([A-Za-z0-9.,;:/\"\u{a0}'’ \t\n+-]{0,8}[,;\t\n]){0,60}") {
        read_somehow(text.as_bytes());
    }

    #[test]
    fn damaged_tables_never_panic_and_lose_nothing(
        habits in habits(),
        damage in prop::collection::vec((any::<prop::sample::Index>(), "[0-9.,;:/\"\n\t-]|Ash|é|am|-05:00|kg|lb|\u{0}"), 1..12),
    ) {
        let mut text: Vec<char> =
            habits.table().iter().map(|r| r.join(habits.separator.mark())).collect::<Vec<_>>().join("\n").chars().collect();
        for (place, with) in damage {
            let at = place.index(text.len());
            text.splice(at..=at, with.chars());
        }
        read_somehow(text.into_iter().collect::<String>().as_bytes());
    }
}

/// Answers whatever is asked in some way, reads, and checks that nothing is lost.
fn read_somehow(bytes: &[u8]) -> Option<Sheet> {
    let context = Habits {
        zone: "Europe/Berlin",
        layout: Layout::Long,
        separator: Separator::Comma,
        decimal_comma: false,
        groups: false,
        date_form: 0,
        time_beside: false,
        unit: SheetUnit::Gram,
        unit_in_heading: false,
        encoding: 0,
        line_end: "\n",
        pups: 4,
        times: Vec::new(),
    }
    .context();
    let mut answers = Answers {
        decimal: Some(DecimalMark::Mixed),
        thousands: Some(false),
        date_order: Some(DateOrder::DayFirst),
        unit: Some(SheetUnit::Gram),
        no_time: Some(NoTime::At(time(2, 30, 0, 0))),
        only_pup: Some("Ash".into()),
        ..Answers::default()
    };
    let mut found: Guess = guess_again(bytes, &context, &answers).ok()?;
    answers.separator = found.separator.value;
    for question in found.open_questions().to_vec() {
        match question.about {
            About::Pup(name) => drop(answers.pups.insert(name, Some("Ash".into()))),
            About::Carer(name) => drop(answers.carers.insert(name, None)),
            _ => {}
        }
    }
    found = guess_again(bytes, &context, &answers).ok()?;
    let sheet = read(bytes, &found.confirm().ok()?, &context);
    nothing_is_lost(&sheet);
    Some(sheet)
}

//! The clock of the computer that serves: whether the network sets it, and whether it jumped while the
//! program ran (usability O-33). Every time in the book is read against it.

use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use maud::{Markup, html};
use whelpward_app::access::Role;

use crate::Home;
use crate::here::{Here, Shelf};
use crate::show::when;
use crate::words::{say, tell};

/// How often the two clocks are compared (our own).
const LOOK_EVERY: Duration = Duration::from_secs(10);
/// So far apart they may go between two looks (usability O-33).
const JUMP: SignedDuration = SignedDuration::from_secs(60);
/// So long a jump is shown (our own): everybody has looked at the page since.
const SHOWN: Duration = Duration::from_hours(24);

/// Whether the network sets the clock of a computer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NetworkTime {
    /// It has done so since the computer was started.
    Set,
    /// It is to do so and has not yet.
    NotSet,
    /// Nothing is known of that here.
    NotKnown,
}

/// What can be known of this computer without asking the network or the kernel: the signs of systemd's own
/// time service. Other services leave none that says whether the clock was set.
#[must_use]
pub fn network_time() -> NetworkTime {
    network_time_by(Path::new("/run"))
}

/// The service makes its folder when it starts, and touches the file whenever it has set the clock.
fn network_time_by(run: &Path) -> NetworkTime {
    let folder = run.join("systemd/timesync");
    match (folder.join("synchronized").exists(), folder.is_dir()) {
        (true, _) => NetworkTime::Set,
        (false, true) => NetworkTime::NotSet,
        (false, false) => NetworkTime::NotKnown,
    }
}

/// The wall clock and one that only counts, read at the same moment.
#[derive(Debug, Clone, Copy)]
struct Moment {
    wall: Timestamp,
    steady: Duration,
}

/// By how much the wall clock was set between two moments, where that is a jump. A steady clock that stands
/// still while the computer sleeps shows only the jumps back: forward, it may have slept.
fn jump_between(before: Moment, after: Moment, counts_sleep: bool) -> Option<SignedDuration> {
    let passed = SignedDuration::try_from(after.steady.saturating_sub(before.steady)).ok()?;
    let by = after.wall.duration_since(before.wall).checked_sub(passed)?;
    let is_jump = by < -JUMP || (by > JUMP && counts_sleep);
    is_jump.then_some(by)
}

#[derive(Debug, Clone, Copy)]
struct Jump {
    by: SignedDuration,
    seen: Moment,
}

type Read<T> = Box<dyn Fn() -> T + Send + Sync>;

/// Watches the clock. Tests give it other clocks to read.
pub struct ServerClock {
    steady: Read<Option<Duration>>,
    counts_sleep: bool,
    network_time: Read<NetworkTime>,
    last: Mutex<(Option<Moment>, Option<Jump>)>,
}

impl Default for ServerClock {
    /// Of which nothing is known.
    fn default() -> Self {
        Self::new(|| None, || NetworkTime::NotKnown)
    }
}

impl ServerClock {
    /// `steady` only counts, also while the computer sleeps.
    pub fn new(
        steady: impl Fn() -> Option<Duration> + Send + Sync + 'static,
        network_time: impl Fn() -> NetworkTime + Send + Sync + 'static,
    ) -> Self {
        Self {
            steady: Box::new(steady),
            counts_sleep: true,
            network_time: Box::new(network_time),
            last: Mutex::default(),
        }
    }

    #[must_use]
    pub fn of_this_computer() -> Self {
        let began = std::time::Instant::now();
        let is_linux = cfg!(target_os = "linux");
        let steady = move || if is_linux { up_time() } else { Some(began.elapsed()) };
        Self { counts_sleep: is_linux, ..Self::new(steady, network_time) }
    }

    /// Compares the clocks; gives the jump, where there was one since the last look.
    pub fn look(&self, wall: Timestamp) -> Option<SignedDuration> {
        let now = Moment { wall, steady: (self.steady)()? };
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let by = last.0.replace(now).and_then(|before| jump_between(before, now, self.counts_sleep));
        if let Some(by) = by {
            last.1 = Some(Jump { by, seen: now });
        }
        by
    }

    /// The last jump, while it is news.
    fn jump(&self) -> Option<Jump> {
        let now = (self.steady)()?;
        let last = self.last.lock().unwrap_or_else(PoisonError::into_inner).1;
        last.filter(|jump| now.saturating_sub(jump.seen.steady) < SHOWN)
    }
}

/// Since the computer was started, its sleep too: the first number of the kernel's file.
fn up_time() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/uptime").ok()?;
    Duration::try_from_secs_f64(text.split_whitespace().next()?.parse().ok()?).ok()
}

/// Watches the clock until the server ends.
pub async fn keep(home: Arc<Home>) {
    let mut ended = home.live.ended();
    loop {
        if let Some(by) = home.server_clock.look((home.clock)()) {
            eprintln!("the clock of this computer jumped {} by {}", way(by), length(by));
        }
        tokio::select! {
            () = tokio::time::sleep(LOOK_EVERY) => {}
            _ = ended.wait_for(|is_ended| *is_ended) => return,
        }
    }
}

fn way(by: SignedDuration) -> &'static str {
    if by.is_negative() { "back" } else { "forward" }
}

fn length(by: SignedDuration) -> String {
    let seconds = by.as_secs().unsigned_abs();
    match seconds {
        0..120 => format!("{seconds}\u{a0}s"),
        120..7200 => format!("{}\u{a0}min", seconds / 60),
        _ => format!("{}\u{a0}h", seconds / 3600),
    }
}

/// For the breeder, on the first page of a litter: what is wrong with the clock.
pub fn warning(here: &Here) -> Markup {
    if here.visit.asker.role != Role::Breeder || here.shelf != Shelf::Own {
        return html! {};
    }
    let clock = &here.visit.home.server_clock;
    let now = when(here, here.now);
    html! {
        @if let Some(jump) = clock.jump() {
            p class="wrong" { (tell("clock-jumped", &[
                ("way", way(jump.by).into()),
                ("by", length(jump.by).into()),
                ("at", when(here, jump.seen.wall).into()),
                ("now", now.as_str().into()),
            ])) }
        }
        @if (clock.network_time)() == NetworkTime::NotSet { p class="wrong" { (tell("clock-not-set", &[("now", now.into())])) } }
    }
}

/// On the settings page: what is known of the clock.
pub fn told(here: &Here) -> Markup {
    let now = [("now", when(here, here.now).into())];
    let text = match (here.visit.home.server_clock.network_time)() {
        NetworkTime::Set => tell("clock-set", &now),
        NetworkTime::NotSet => tell("clock-not-set", &now),
        NetworkTime::NotKnown => tell("clock-not-known", &now),
    };
    html! {
        section {
            h2 { (say("clock-title")) }
            p { (text) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(wall_s: i64, steady_s: u64) -> Moment {
        Moment {
            wall: Timestamp::from_second(1_800_000_000 + wall_s).unwrap(),
            steady: Duration::from_secs(500 + steady_s),
        }
    }

    #[test]
    fn more_than_a_minute_apart_is_a_jump_and_a_minute_is_none() {
        let jump = |wall, steady| jump_between(moment(0, 0), moment(wall, steady), true).map(|by| by.as_secs());
        assert_eq!(jump(10, 10), None);
        assert_eq!(jump(70, 10), None, "60 s forward");
        assert_eq!(jump(71, 10), Some(61));
        assert_eq!(jump(-50, 10), None, "60 s back");
        assert_eq!(jump(-51, 10), Some(-61));
        assert_eq!(jump(8 * 3600, 8 * 3600), None, "the computer slept: both went on");
    }

    #[test]
    fn a_steady_clock_that_sleeps_with_the_computer_shows_only_jumps_back() {
        let jump = |wall, steady| jump_between(moment(0, 0), moment(wall, steady), false).map(|by| by.as_secs());
        assert_eq!(jump(8 * 3600, 10), None);
        assert_eq!(jump(-100, 10), Some(-110));
    }

    #[test]
    fn each_look_is_compared_with_the_one_before() {
        let steady = Arc::new(Mutex::new(0));
        let read = Arc::clone(&steady);
        let clock =
            ServerClock::new(move || Some(Duration::from_secs(*read.lock().unwrap())), || NetworkTime::NotKnown);
        let look = |wall: i64, at: u64| {
            *steady.lock().unwrap() = at;
            clock.look(moment(wall, 0).wall).map(|by| by.as_secs())
        };
        assert_eq!(look(1000, 0), None, "the first look has nothing before it");
        assert_eq!(look(1010, 10), None);
        assert_eq!(look(1320, 20), Some(300));
        assert_eq!(look(1330, 30), None, "told once");
        // Drifting a little at each look is no jump.
        assert_eq!((look(1390, 40), look(1450, 50)), (None, None));
        assert!(clock.jump().is_some());
        *steady.lock().unwrap() = 20 + 24 * 3600 - 1;
        assert!(clock.jump().is_some());
        *steady.lock().unwrap() += 1;
        assert!(clock.jump().is_none(), "no longer news after a day");
    }

    #[test]
    fn the_signs_of_the_time_service_are_read() {
        let run = tempfile::tempdir().unwrap();
        assert_eq!(network_time_by(run.path()), NetworkTime::NotKnown);
        let folder = run.path().join("systemd/timesync");
        std::fs::create_dir_all(&folder).unwrap();
        assert_eq!(network_time_by(run.path()), NetworkTime::NotSet);
        std::fs::write(folder.join("synchronized"), "").unwrap();
        assert_eq!(network_time_by(run.path()), NetworkTime::Set);
    }

    #[test]
    fn a_length_is_said_in_one_unit() {
        let said = [61, -119, 120, 7199, -7200, 100_000].map(|s| length(SignedDuration::from_secs(s)));
        assert_eq!(said.map(|t| t.replace('\u{a0}', " ")), ["61 s", "119 s", "2 min", "119 min", "2 h", "27 h"]);
    }
}

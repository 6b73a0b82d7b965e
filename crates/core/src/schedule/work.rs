//! Who feeds how many pups of one round.
//!
//! The pups are shared out so that the round is over soonest; among such shares the one with
//! the least work. Carer k with x bottles and y tubes works `ceil(x / at_once)` bottles long
//! plus y tubes; only a carer who was taught gives a tube.

/// What a carer can do in a round.
#[derive(Debug, Clone, Copy)]
pub struct Helping {
    pub may_tube: bool,
    pub at_once: u32,
    pub bottle_s: i64,
    pub tube_s: i64,
}

impl Helping {
    fn seconds(&self, bottles: u32, tubes: u32) -> Option<i64> {
        if tubes > 0 && !self.may_tube {
            return None;
        }
        Some(i64::from(bottles.div_ceil(self.at_once)) * self.bottle_s + i64::from(tubes) * self.tube_s)
    }
}

/// One carer's part of a round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Share {
    pub bottles: u32,
    pub tubes: u32,
    pub seconds: i64,
}

/// The soonest share of (bottles, tubes), and with it the least work; none when a tube is
/// needed and nobody may give it.
#[must_use]
pub fn share_out(feeds: (u32, u32), carers: &[Helping]) -> Option<Vec<Share>> {
    let soonest = table(feeds, carers, i64::max, i64::MAX).best()?;
    let by_work = table(feeds, carers, |own, rest| own + rest, soonest);
    by_work.best()?;
    Some(by_work.shares(carers))
}

struct Table {
    feeds: (u32, u32),
    /// For the first k carers and each (bottles, tubes): value, and the k-th carer's part.
    rows: Vec<Vec<Option<(i64, u32, u32)>>>,
}

/// A table over carers: the best way for the first k of them to feed (b, t) pups, each of
/// them for no longer than `at_most`.
fn table(feeds: (u32, u32), carers: &[Helping], join: fn(i64, i64) -> i64, at_most: i64) -> Table {
    let (bottles, tubes) = feeds;
    let size = ((bottles + 1) * (tubes + 1)) as usize;
    let index = |b: u32, t: u32| (b * (tubes + 1) + t) as usize;
    let mut none = vec![None; size];
    none[0] = Some((0, 0, 0));
    let mut rows = vec![none];
    for carer in carers {
        let before = &rows[rows.len() - 1];
        let mut row = vec![None; size];
        for b in 0..=bottles {
            for t in 0..=tubes {
                for x in 0..=b {
                    for y in 0..=t {
                        let Some(rest) = before[index(b - x, t - y)] else { continue };
                        let Some(own) = carer.seconds(x, y).filter(|s| *s <= at_most) else { continue };
                        let value = join(own, rest.0);
                        let best: &mut Option<(i64, u32, u32)> = &mut row[index(b, t)];
                        if best.is_none_or(|(v, ..)| value < v) {
                            *best = Some((value, x, y));
                        }
                    }
                }
            }
        }
        rows.push(row);
    }
    Table { feeds, rows }
}

impl Table {
    fn best(&self) -> Option<i64> {
        self.rows.last()?.last()?.map(|(value, ..)| value)
    }

    fn shares(&self, carers: &[Helping]) -> Vec<Share> {
        let (mut b, mut t) = self.feeds;
        let mut shares = vec![Share::default(); carers.len()];
        for (k, carer) in carers.iter().enumerate().rev() {
            let cell = self.rows[k + 1][(b * (self.feeds.1 + 1) + t) as usize];
            let Some((_, x, y)) = cell else { break };
            shares[k] = Share { bottles: x, tubes: y, seconds: carer.seconds(x, y).unwrap_or(0) };
            b -= x;
            t -= y;
        }
        shares
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOTTLE: Helping = Helping { may_tube: false, at_once: 1, bottle_s: 420, tube_s: 30 };
    const TAUGHT: Helping = Helping { may_tube: true, ..BOTTLE };

    #[test]
    fn common_practice_times() {
        // Facts of the trade: six pups by tube in about five minutes, a bottle five to ten minutes each.
        let tube: i64 = share_out((0, 6), &[TAUGHT]).unwrap().iter().map(|s| s.seconds).sum();
        assert!((150..=300).contains(&tube), "{tube} s for six tubes");
        let bottle = share_out((1, 0), &[BOTTLE]).unwrap()[0].seconds;
        assert!((300..=600).contains(&bottle));
    }

    #[test]
    fn nobody_taught_means_no_tube() {
        assert!(share_out((3, 1), &[BOTTLE, BOTTLE]).is_none());
        let shares = share_out((3, 1), &[BOTTLE, TAUGHT]).unwrap();
        assert_eq!((shares[0].tubes, shares[1].tubes), (0, 1));
    }

    #[test]
    fn two_bottles_at_once_halve_the_time() {
        let two = Helping { at_once: 2, ..BOTTLE };
        assert_eq!(share_out((5, 0), &[two]).unwrap()[0].seconds, 3 * 420);
    }

    #[test]
    fn the_round_is_over_soonest() {
        let shares = share_out((5, 0), &[BOTTLE, BOTTLE]).unwrap();
        assert_eq!(shares.iter().map(|s| s.seconds).max(), Some(3 * 420));
        assert_eq!(shares.iter().map(|s| s.bottles).sum::<u32>(), 5);
    }
}

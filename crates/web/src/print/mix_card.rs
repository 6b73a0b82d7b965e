//! How the next batch is mixed, warmed and thrown away.

use whelpward_core::report::milk::{MixRequest, mix};
use whelpward_core::units::{Celsius, Grams, KcalPerMl, format_quantity};
use whelpward_print::{Block, Document, Text};

use super::source::Source;
use crate::show::{ml, sentence};
use crate::words::{say, tell};

pub fn document(source: &Source) -> Document {
    let blocks = match mix(&source.facts, source.now, &MixRequest::default()) {
        Ok(batch) => {
            let celsius = |t: f64| format_quantity(t, &Celsius::ROW);
            let rounds: Vec<String> = batch.for_rounds_at.iter().map(|at| source.when_iso(at)).collect();
            let mut blocks = vec![
                Block::Heading(2, batch.milk.clone()),
                Block::Text(tell("mix-card-for", &[("rounds", rounds.join("; ").into())]).into()),
            ];
            if let Some(powder) = &batch.powder {
                let (grams, water) = (format_quantity(powder.powder_g, &Grams::ROW), ml(powder.water_ml));
                let recipe = tell("mix-recipe", &[("powder", grams.into()), ("water", water.into())]);
                blocks.push(Block::Framed(Text::default().large(recipe)));
                let mut steps: Vec<Text> = Vec::new();
                if let (Some(hot), Some(cold)) = (powder.hot_water_ml, powder.cold_water_ml) {
                    let values = [
                        ("hot", ml(hot).into()),
                        ("hotC", celsius(powder.hot_water_c).into()),
                        ("cold", ml(cold).into()),
                        ("coldC", celsius(powder.cold_water_c).into()),
                        ("mixed", celsius(powder.water_c).into()),
                    ];
                    steps.push(tell("mix-water", &values).into());
                }
                if let Some(scoops) = powder.scoops {
                    let scoops = whelpward_core::units::number(scoops, 1, false);
                    steps.push(tell("mix-scoops", &[("scoops", scoops.into())]).into());
                }
                let label = [
                    ("powder", format_quantity(powder.label_powder_g, &Grams::ROW).into()),
                    ("water", ml(powder.label_water_ml).into()),
                ];
                steps.push(tell("mix-card-label", &label).into());
                if powder.is_more_than_wanted {
                    steps.push(say("mix-use-part").into());
                }
                blocks.push(Block::List(steps));
            }
            let makes =
                tell("mix-makes", &[("volume", ml(batch.volume_ml).into()), ("wanted", ml(batch.wanted_ml).into())]);
            let kit =
                tell("mix-of-it", &[("fed", ml(batch.fed_ml).into()), ("kit", ml(batch.stays_in_the_kit_ml).into())]);
            let warm = tell(
                "mix-feed-at",
                &[("low", celsius(batch.feed_at_c[0]).into()), ("high", celsius(batch.feed_at_c[1]).into())],
            );
            blocks.push(Block::Text(format!("{makes} {kit}").into()));
            let mut at = Text::default().large(warm);
            if batch.must_cool {
                at = at.bold(format!(" {}", say("mix-cool")));
            }
            blocks.push(Block::Text(at));
            let throw = tell("mix-throw-at", &[("at", source.when_iso(&batch.throw_away_at).into())]);
            blocks.push(Block::Text(Text::default().large(throw)));
            let strength = format_quantity(batch.strength_kcal_per_ml, &KcalPerMl::ROW);
            blocks.push(Block::Text(tell("mix-strength", &[("strength", strength.into())]).into()));
            blocks.push(Block::Text(say("sheet-mixed").into()));
            if !batch.notes.is_empty() {
                blocks.push(Block::Heading(2, say("mix-card-notes")));
                let note = |n: &whelpward_core::report::Said| {
                    Text::default().plain(sentence(&n.text)).small(format!(" {}", n.source.source))
                };
                blocks.push(Block::List(batch.notes.iter().map(note).collect()));
            }
            blocks
        }
        Err(why) => vec![Block::Framed(sentence(&why).into())],
    };
    source.document(format!("{}: {}", say("mix-card-title"), source.facts.litter.name), blocks, true)
}

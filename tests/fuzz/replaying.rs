//! Random and spoilt models: the simulator confirms every refutation, and the same model gives the same result.

use tripproof::assess::assess;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::source::Source;

use crate::generate::generate;
use crate::random::Random;
use crate::spoil::{self, MODELS};

pub fn make(random: &mut Random) -> Vec<u8> {
    // A seed far from those that the oracle tries.
    let text = match random.percent(70) {
        true => generate(1_000_000 + random.below(1_000_000_000) as u64).draft.text(),
        false => (*random.pick(&MODELS[..spoil::SMALL])).to_string(),
    };
    for _ in 0..20 {
        let spoilt = spoil::some(&text, random);
        if load(&Source::new("fuzz.yaml", spoilt.as_str())).is_ok() {
            return spoilt.into_bytes();
        }
    }
    text.into_bytes()
}

pub fn one(input: &[u8]) -> Result<&'static str, String> {
    let Ok(text) = std::str::from_utf8(input) else { return Ok("no text") };
    let Ok(model) = load(&Source::new("fuzz.yaml", text)) else { return Ok("refused") };
    let engine = Smt::new(20_000_000).map_err(|error| error.0)?;
    let assessment = assess(&model, &engine).map_err(|error| error.0)?;
    if let Some(dispute) = assessment.disputes.first() {
        return Err(format!("{:?}: {}", dispute.claim, dispute.simulator));
    }
    let broken = assessment.hazards.iter().any(|found| found.tolerance.is_broken())
        || assessment.singles.iter().any(|single| single.decided.is_broken());
    Ok(if broken { "refuted and replayed" } else { "nothing refuted" })
}

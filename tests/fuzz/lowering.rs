//! Spoilt models to a model, or to problems that stand in the file: never a panic.

use tripproof::load::load;
use tripproof::source::Source;

use crate::random::Random;
use crate::reading::whole;
use crate::spoil::{self, MODELS};

pub fn make(random: &mut Random) -> Vec<u8> {
    // Large models now and then: they have what the small ones lack, and take longer.
    let text = match random.percent(15) {
        true => *random.pick(MODELS),
        false => *random.pick(&MODELS[..spoil::SMALL]),
    };
    spoil::some(text, random).into_bytes()
}

pub fn one(input: &[u8]) -> Result<&'static str, String> {
    let Ok(text) = std::str::from_utf8(input) else { return Ok("no text") };
    let source = Source::new("fuzz.yaml", text);
    match load(&source) {
        Ok(_) => Ok("a model"),
        Err(problems) => whole(&source, &problems).map(|()| "problems"),
    }
}

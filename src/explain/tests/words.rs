//! What no line may say, and how every line looks.

use super::bench::hall;
use super::{ends, faults};

#[test]
fn no_line_claims_what_nobody_can_know_and_every_line_can_be_read_aloud() {
    let m = hall();
    let jargon = ["situation", "literal", "encoding", "deviate", "solver's", "witness"];
    let never = ["certified", "compliant", "SIL ", "is safe", "safe plant", "safely"];
    for story in faults::ALL.iter().chain(&ends::ALL) {
        for line in story(&m).lines {
            assert!(line.ends_with('.') && !line.ends_with(".."), "{line}");
            assert!(line.chars().count() < 200, "{line}");
            for word in jargon.iter().chain(&never) {
                assert!(!line.contains(word), "{word} in: {line}");
            }
            let adjective = line.replace("safe state", "").contains("safe");
            assert!(!adjective, "{line}");
        }
    }
}

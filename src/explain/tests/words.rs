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

fn values(story: fn(&crate::model::Model) -> crate::finding::Story) -> Vec<String> {
    story(&hall()).values.into_iter().map(|(name, value)| format!("{name}: {value}")).collect()
}

#[test]
fn values_are_sorted_and_leave_out_what_is_as_usual() {
    let stuck = [
        "GD-1: misbehaves",
        "GD-1 at SL-1: 24.9 %LFL",
        "K1 driven by SL-1: gives energy",
        "position of K1: closed",
        "solvent: 40 %LFL",
    ];
    assert_eq!(values(faults::stuck_sensor), stuck);
    assert_eq!(
        values(faults::lost_supply),
        ["K3 driven by SL-2: gives energy", "MAINS: lost", "fire: true", "position of K3: closed"]
    );
    assert_eq!(
        values(ends::relief_valve),
        ["error of RV-2: -0.25 bar", "position of RV-2: shut", "pressure: 6.2 bar"]
    );
    assert!(values(ends::latched).contains(&"C-FIRE: already set".to_string()));
    // A reading at the low end of its range is a default, and is what the story turns on.
    assert!(values(faults::type_in_common).contains(&"GD-1 at SL-1: 0 %LFL".to_string()));
}

#[test]
fn faults_and_overrides_are_told_by_their_tags() {
    let m = hall();
    assert_eq!(faults::type_in_common(&m).faults, ["GT-100"]);
    assert_eq!(faults::initiator(&m).faults, ["initiator heads"]);
    assert_eq!(faults::damage(&m).faults, ["damage group bay of H-GAS"]);
    let pair = ("OV-1".to_string(), "GD-2".to_string());
    assert_eq!(ends::overridden(&m).overrides, [pair]);
    assert!(ends::overridden(&m).faults.is_empty());
}

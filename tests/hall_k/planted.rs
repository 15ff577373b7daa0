//! What is planted in the flawed twin: where it stands in the text, and what must be found of it.
//!
//! One more finding or one less fails. What the description of the hall lists is marked `""`; what it lacks has its
//! reason beside it.

/// Finding id, letters of its modes (empty: it depends on none), and why it is more than the description lists.
///
/// Ids are those of `hall::facts`: shared parts are told one by one.
pub type Expected = (&'static str, &'static str, &'static str);

/// One planted error.
pub struct Planted {
    /// Its name.
    pub name: &'static str,
    /// Texts by which its places are recognised: every changed place of the twin holds a text of exactly one error.
    pub places: &'static [&'static str],
    /// What must be found.
    pub findings: &'static [Expected],
}

/// What differs between the two files and is no error: the head of the file, and its revision.
pub const HEAD: &[&str] = &["# Hall K: two walk-in bays", "  revision: A"];

const CONSEQUENCE: &str = "one path in place of two: each part of the path that is left takes all with it";

#[rustfmt::skip]
pub const PLANTED: &[Planted] = &[
    Planted {
        name: "PE1",
        places: &["  UT-1: {", "  C103: {"],
        findings: &[
            ("trips-share-an-input/-/SI-1+UT-1", "", ""),
            ("fault-defeats-protection/B1-H08/R-1+SI-1+UT-1", "T", ""),
            ("too-few-disjoint-paths/B1-H08/R-1+SI-1+UT-1", "T", ""),
            ("shared-part-defeats-protection/B1-H08/R-1", "T", ""),
            ("input-not-read/-/CV-1", "", "no other cause reads the cell voltage"),
        ],
    },
    Planted {
        name: "PE2",
        places: &["  WZ-2A: {"],
        findings: &[
            ("fault-defeats-protection/B2-H13/R-1+U24-A", "RTSQ", ""),
            ("too-few-disjoint-paths/B2-H13/R-1+U24-A", "RTSQ", ""),
            ("shared-part-defeats-protection/B2-H13/R-1", "RTSQ", ""),
            ("shared-part-defeats-protection/B2-H13/U24-A", "RTSQ", ""),
            ("energise-to-trip-line-not-monitored/-/WZ-2A", "", ""),
            ("energise-to-trip-line-not-monitored/-/WZ-2B", "", ""),
        ],
    },
    Planted {
        name: "PE3",
        places: &["  FD-1A: {", "  SHUT-FD-1: {", "  C115: {"],
        findings: &[
            ("opposing-commands/-/FD-1A", "", ""),
            ("opposing-commands/-/FD-1B", "", ""),
            ("harmful-action/B1-H02/C115+FD-1A", "", ""),
            ("harmful-action/B1-H02/C115+FD-1B", "", ""),
            ("command-without-obedience/-/FD-1A", "", "FP-0 stands in series with SC-1, which may hold the damper open"),
            ("command-without-obedience/-/FD-1B", "", "FP-0 stands in series with LC-1, which may hold the damper open"),
        ],
    },
    Planted {
        name: "PE4a",
        places: &["  C113: {"],
        findings: &[
            ("trip-cannot-fire/-/C113", "", ""),
            ("fault-defeats-protection/B1-H05/PANEL-1", "RTSQ", ""),
            ("too-few-disjoint-paths/B1-H05/PANEL-1", "RTSQ", ""),
        ],
    },
    Planted {
        name: "PE4b",
        places: &["  C211: {"],
        findings: &[
            ("trip-cannot-fire/B2-H04/C211", "", ""),
            ("fault-defeats-protection/B2-H04/CAB-S+GR-21+HN-2+MS-2A+R-1+SC-1+U24-A", "UE", ""),
            ("too-few-disjoint-paths/B2-H04/CAB-S+GR-21+HN-2+MS-2A+R-1+SC-1+U24-A", "UE", ""),
            ("shared-part-defeats-protection/B2-H04/CAB-S", "UE", CONSEQUENCE),
            ("shared-part-defeats-protection/B2-H04/MS-2A", "UE", CONSEQUENCE),
            ("shared-part-defeats-protection/B2-H04/R-1", "UE", CONSEQUENCE),
            ("shared-part-defeats-protection/B2-H04/SC-1", "UE", CONSEQUENCE),
            ("shared-part-defeats-protection/B2-H04/U24-A", "UE", CONSEQUENCE),
            ("input-not-read/-/GR-22", "", "no other cause reads the second CO2 head"),
        ],
    },
    Planted {
        name: "PE5",
        places: &["degraded_vote:", "at_most:"],
        findings: &[
            ("vote-cannot-trip/-/C206+MK-2", "", ""),
            ("vote-degradation-not-declared/-/C206", "", "that nothing is said is the error itself, told where it stands"),
        ],
    },
    // The tube of GC-22 makes C209 too slow: 85.19 s of 45.56 s.
    Planted {
        name: "PE6",
        places: &["  GC-22: {"],
        findings: &[
            ("fault-makes-protection-late/B2-H03/CAB-S+GC-21+HN-2+MS-2A+R-1+SC-1+U24-A", "UE", ""),
            ("too-few-timely-paths/B2-H03/C209", "UE", ""),
            ("trip-too-slow/B2-H03/C209", "UE", ""),
        ],
    },
    // C134 and C135 let HV back by themselves. Sequences are not examined in this version.
    Planted { name: "PE7", places: &["  C134: {", "  RS-1: {"], findings: &[] },
    Planted {
        name: "PE8",
        places: &["  C108: {"],
        findings: &[
            ("hazard-not-covered/B1-H03/C108+C109", "U", ""),
            ("hazard-not-covered/B1-H04/C110+C111", "U", ""),
            ("not-armed-where-hazard-exists/B1-H03/C108", "U", ""),
            ("not-armed-where-hazard-exists/B1-H03/C109", "U", ""),
            ("not-armed-where-hazard-exists/B1-H04/C110", "U", ""),
            ("not-armed-where-hazard-exists/B1-H04/C111", "U", ""),
        ],
    },
    Planted {
        name: "PE9",
        places: &["  DL-2: {", "tag: ER-2,", "  LOCK-DL-2: {", "SOUND-HN-2, LOCK-DL-2]", "  FX-4: {"],
        findings: &[
            ("nobody-can-leave/-/BAY-2", "", ""),
            ("harmful-action/B2-H03/C206+DL-2", "", ""),
            ("loss-forces-forbidden-position/B2-H03/CAB-S+DL-2+R-1+SC-1+U24-A", "", "the second way to be locked in, seen from the gas: without power the door locks"),
            ("no-rescue-from-outside/-/DOOR-2", "", "the description names the release outside only in its correction"),
        ],
    },
    Planted {
        name: "PE10",
        places: &["  HL-1A: {", "  HV-1A:", "  HV-1B:", "  C118: {"],
        findings: &[
            ("trips-share-an-input/-/HL-1", "", ""),
            ("fault-defeats-protection/B1-H06/R-1+line of HL-1", "T", ""),
            ("too-few-disjoint-paths/B1-H06/R-1+line of HL-1", "T", ""),
            ("loop-can-mask/-/HL-1", "", ""),
            ("shared-part-defeats-protection/B1-H06/R-1", "T", "the one cable lies in the tray of side A"),
        ],
    },
    Planted {
        name: "PE11",
        places: &["SOUND-HN-2, STOP-CP-2]"],
        findings: &[
            ("harmful-action/B2-H01/C201+CP-2", "", ""),
            ("acceptance-without-finding/-/AC-2", "", "whenever H01 is present C201 stops the pump already, so no loss alone does it any more, and AC-2 accepts what is not there"),
        ],
    },
    Planted {
        name: "PE12",
        places: &["  C217: {"],
        findings: &[
            ("invariant-broken/-/H12-2", "", ""),
            ("exclusion-occurs/-/NX-2", "", "the same slip as positions: water from a nozzle while the contactors are closed"),
            ("effects-out-of-order/-/C217+HV-OFF-2A+HV-OFF-2B+OPEN-WZ-2A", "", "the order rule of H.9 for the mist: water only after HV is off"),
        ],
    },
];

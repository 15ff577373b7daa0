fn main() {
    for path in std::env::args().skip(1) {
        let text = std::fs::read_to_string(&path).unwrap();
        let source = tripproof::source::Source::new(path, text);
        let model = match tripproof::load::load(&source) {
            Ok(m) => m,
            Err(problems) => {
                for p in problems { let at = source.place(p.span.start); println!("{}:{}:{} [{}] {} | {} | {:?}", source.name(), at.line, at.column, p.code, p.message, source.slice(p.span), p.help); }
                continue;
            }
        };
        let engine = tripproof::engine::smt::Smt::new(50_000_000).unwrap();
        let t = std::time::Instant::now();
        let a = tripproof::assess::assess(&model, &engine).unwrap();
        println!("assess {:?}", t.elapsed());
        for d in &a.disputes { println!("DISPUTE {:?} {}", d.claim.breach, d.simulator); }
        let o = tripproof::conclude::conclude(source, model, &a, "z3".into());
        for f in &o.findings { println!("{} {:?} {}\n   {:?}", o.finding_id(f), f.modes, f.sentence, f.under); }
        for (k, c) in &o.table { println!("{:?} {:?}", k, c); }
        println!("{:?} exit {}", o.counts(), o.exit_code());
    }
}

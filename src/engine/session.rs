//! Z3.

/// ```
/// assert!(tripproof::engine::session::version().contains("5.4.1"));
/// ```
pub fn version() -> &'static str {
    z3::full_version()
}

#[cfg(test)]
mod tests {
    #[test]
    fn links() {
        println!("{}", super::version());
        println!("{:?}", z3::ast::Real::from_rational_str("-1", "3"));
        println!("{:?}", z3::ast::Real::from_rational_str("1", "-3"));
        println!("{:?}", z3::ast::Real::from_rational_str("10", "4"));
        println!("{:?}", z3::ast::Real::from_rational_str(&"-123456789".repeat(30), &"1"));
        println!(
            "{:?}",
            z3::ast::Real::from_rational_str(&"123456789".repeat(30).replace("98", "9-8"), &"1")
        );
        println!("{:?}", z3::ast::Real::from_rational_str(&"123456789".repeat(30), &"7"));
        println!("{:?}", z3::ast::Real::from_rational_str("1", "0"));
    }
}

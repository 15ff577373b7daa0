//! Builds the tree of an expression from its tokens.
//!
//! Responsible for structure: operands, parentheses, votes, comparisons. Reading goes on after a problem where
//! the next part can be read by itself: the parser then skips to the next `AND`, `OR`, comma or closing
//! parenthesis of the same level. `None` from a method means that the problem is recorded.

use super::lex::{Token, TokenKind, tokens};
use super::tag::vote_parts;
use super::{Expr, ExprKind, Tag, Vote};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::leaf::Scalar;
use crate::unit::spelling::{Complaint, shown};

mod sum;

/// Most bytes of one expression.
pub const LONGEST: usize = 4096;
/// Most levels of parentheses, votes and `NOT` inside each other.
pub const MOST_NESTED: usize = 64;

/// Reads the expression that stands in a scalar (which must not be `broken`).
///
/// Errors: everything that is wrong with it and can be told apart, in the order of the text.
pub fn parse(scalar: &Scalar) -> Result<Expr, Vec<Problem>> {
    parse_as(scalar, false)
}

/// As [`parse`], for a place where NOT is refused anyway: `NOT K1 = closed` is then read as `NOT (K1 = closed)`, so
/// that nobody is told to put parentheses after a NOT that has to go.
pub fn parse_with_bare_not(scalar: &Scalar) -> Result<Expr, Vec<Problem>> {
    parse_as(scalar, true)
}

fn parse_as(scalar: &Scalar, bare_not: bool) -> Result<Expr, Vec<Problem>> {
    let text = scalar.text.as_str();
    let refuse = |message: &str, label: &str, help: String| {
        Err(vec![Complaint::new("expression-syntax", message, label).help(help).at(scalar.span)])
    };
    if text.len() > LONGEST {
        let help =
            format!("an expression has at most {LONGEST} characters; split it over several causes or facts");
        return refuse("this expression is too long", "too long", help);
    }
    if text.trim().is_empty() {
        let help = "write a condition such as `GD-1 >= 25 %LFL`".into();
        return refuse("an expression is missing", "nothing is written here", help);
    }
    let (tokens, placed) = tokens(text);
    let mut parser =
        Parser { scalar, tokens, at: 0, depth: 0, bare_not, aborted: false, problems: Vec::new() };
    for (complaint, start, end) in placed {
        parser.problem(complaint, parser.span(start, end));
    }
    let expr = parser.or();
    parser.trailing();
    let mut problems = parser.problems;
    problems.sort();
    problems.dedup();
    match expr {
        Some(expr) if problems.is_empty() => Ok(expr),
        _ => Err(problems),
    }
}

struct Parser<'a> {
    scalar: &'a Scalar,
    tokens: Vec<Token>,
    at: usize,
    depth: usize,
    /// Whether NOT may stand before a comparison without parentheses.
    bare_not: bool,
    aborted: bool,
    problems: Vec<Problem>,
}

fn unclosed() -> Complaint {
    syntax("this `(` is never closed", "its `)` is missing").help("write the `)` where the group ends")
}

fn syntax(message: impl Into<String>, label: &str) -> Complaint {
    Complaint::new("expression-syntax", message, label)
}

impl<'a> Parser<'a> {
    fn span(&self, start: usize, end: usize) -> Span {
        self.scalar.part(start, end)
    }

    fn problem(&mut self, complaint: Complaint, span: Span) {
        if !self.aborted {
            self.problems.push(complaint.at(span));
        }
    }

    fn token(&self, ahead: usize) -> Option<&Token> {
        self.tokens.get(self.at + ahead)
    }

    fn kind(&self) -> &TokenKind {
        self.token(0).map_or(&TokenKind::End, |t| &t.kind)
    }

    fn next_is(&self, ahead: usize, kind: &TokenKind) -> bool {
        self.token(ahead).is_some_and(|t| t.kind == *kind)
    }

    /// Start and end of the current token; of the last one at the end.
    fn bounds(&self) -> (usize, usize) {
        self.token(0).or(self.tokens.last()).map_or((0, 0), |t| (t.start, t.end))
    }

    fn here(&self) -> Span {
        let (start, end) = self.bounds();
        self.span(start, end)
    }

    /// Byte offset where the last read token ends.
    fn read_to(&self) -> usize {
        self.at.checked_sub(1).and_then(|i| self.tokens.get(i)).map_or(0, |t| t.end)
    }

    fn text_of(&self, start: usize, end: usize) -> &'a str {
        self.scalar.text.get(start..end).unwrap_or("")
    }

    fn word_here(&self) -> &'a str {
        let (start, end) = self.bounds();
        self.text_of(start, end)
    }

    fn advance(&mut self) {
        if *self.kind() != TokenKind::End {
            self.at += 1;
        }
    }

    /// Skips to the next token at which reading can go on, at this level of parentheses.
    fn recover(&mut self) {
        let mut open = 0usize;
        loop {
            match self.kind() {
                TokenKind::End => return,
                TokenKind::And | TokenKind::Or | TokenKind::Xor | TokenKind::Comma if open == 0 => return,
                TokenKind::Close if open == 0 => return,
                TokenKind::Close => open -= 1,
                TokenKind::Open => open += 1,
                _ => {}
            }
            self.advance();
        }
    }

    /// After a whole expression: what else stands there has no place.
    fn trailing(&mut self) {
        let complaint = match self.kind() {
            TokenKind::Close => syntax("this `)` closes nothing", "no `(` belongs to it")
                .help("take it away, or write the `(`"),
            TokenKind::Comma => syntax("a comma only parts the conditions of a vote", "not here")
                .help("write `AND` or `OR`, or a vote such as `2oo3(a, b, c)`"),
            _ => return,
        };
        self.problem(complaint, self.here());
    }

    fn or(&mut self) -> Option<Expr> {
        self.chain(Self::and, &[TokenKind::Or, TokenKind::Xor], ExprKind::Or)
    }

    fn and(&mut self) -> Option<Expr> {
        self.chain(Self::operand, &[TokenKind::And], ExprKind::And)
    }

    /// Operands of one level with one of the operators between them.
    fn chain(
        &mut self,
        part: fn(&mut Self) -> Option<Expr>,
        operators: &[TokenKind],
        build: fn(Vec<Expr>) -> ExprKind,
    ) -> Option<Expr> {
        let mut operands = vec![part(self)];
        while operators.contains(self.kind()) {
            if *self.kind() == TokenKind::Xor {
                let complaint = syntax("`XOR` is not used", "not an operator here");
                let help = "write `(a AND NOT b) OR (b AND NOT a)`";
                self.problem(complaint.help(help), self.here());
            }
            self.advance();
            operands.push(part(self));
        }
        let mut operands: Vec<Expr> = operands.into_iter().collect::<Option<_>>()?;
        if operands.len() == 1 {
            return operands.pop();
        }
        let span = operands.iter().map(|o| o.span).reduce(Span::to)?;
        Some(Expr { kind: build(operands), span })
    }

    /// One operand of `AND`, and everything up to the next place where an operator may stand.
    fn operand(&mut self) -> Option<Expr> {
        let Some(expr) = self.unary() else {
            self.recover();
            return None;
        };
        match self.kind() {
            TokenKind::And | TokenKind::Or | TokenKind::Xor => return Some(expr),
            TokenKind::Comma | TokenKind::Close | TokenKind::End => return Some(expr),
            TokenKind::Bad => {}
            TokenKind::Op(_) | TokenKind::Plus | TokenKind::Minus { .. } | TokenKind::Star => {
                self.problem(not_a_value(&expr), self.here());
            }
            _ => {
                let word = shown(self.word_here());
                let complaint =
                    syntax(format!("{word} follows a condition that is complete"), "AND or OR missing");
                self.problem(complaint.help(format!("write `AND` or `OR` before {word}")), self.here());
            }
        }
        self.recover();
        None
    }

    fn unary(&mut self) -> Option<Expr> {
        match self.kind() {
            TokenKind::Not => self.not(),
            TokenKind::Open => self.parenthesis(),
            TokenKind::Word if self.next_is(1, &TokenKind::Open) => self.vote_or_call(),
            TokenKind::Number(_) if self.next_is(1, &TokenKind::Open) => self.zeros_for_oo(),
            TokenKind::Word | TokenKind::Number(_) | TokenKind::Plus | TokenKind::Minus { .. } => {
                self.condition()
            }
            TokenKind::Bad => None,
            _ => self.missing(),
        }
    }

    /// Goes one level deeper for `read`; past the limit everything is dropped but one problem.
    fn nested<T>(&mut self, read: impl FnOnce(&mut Self) -> Option<T>) -> Option<T> {
        if self.depth >= MOST_NESTED {
            let complaint = syntax("this expression is nested too deeply", "too deep");
            let help =
                format!("at most {MOST_NESTED} levels are read; split it over several causes or facts");
            self.problem(complaint.help(help), self.here());
            self.aborted = true;
            self.at = self.tokens.len().saturating_sub(1);
            return None;
        }
        self.depth += 1;
        let result = read(self);
        self.depth -= 1;
        result
    }

    fn not(&mut self) -> Option<Expr> {
        let (start, _) = self.bounds();
        let wrapped = self.next_is(1, &TokenKind::Open);
        let operand = self.nested(|parser| {
            parser.advance();
            parser.unary()
        })?;
        let span = self.span(start, self.read_to());
        if matches!(operand.kind, ExprKind::Compare(_)) && !wrapped && !self.bare_not {
            let message = "NOT before a comparison reads two ways";
            let complaint = syntax(message, "parentheses missing").help(format!("write `NOT ({operand})`"));
            self.problem(complaint, span);
        }
        Some(Expr { kind: ExprKind::Not(Box::new(operand)), span })
    }

    fn parenthesis(&mut self) -> Option<Expr> {
        let (start, end) = self.bounds();
        if self.next_is(1, &TokenKind::Close) {
            let close = self.token(1).map_or(end, |t| t.end);
            let complaint = syntax("nothing stands in these parentheses", "a condition is missing");
            let help = "write a condition in them, or take them away";
            self.problem(complaint.help(help), self.span(start, close));
            self.advance();
            self.advance();
            return None;
        }
        let inner = self.nested(|parser| {
            parser.advance();
            Some(parser.or())
        })?;
        self.close(start)?;
        inner.map(|inner| Expr { kind: inner.kind, span: self.span(start, self.read_to()) })
    }

    /// Reads the `)` for the `(` at byte `open`.
    fn close(&mut self, open: usize) -> Option<()> {
        match self.kind() {
            TokenKind::Close => {
                self.advance();
                Some(())
            }
            TokenKind::Comma => {
                let complaint = syntax("a comma only parts the conditions of a vote", "not here");
                self.problem(complaint.help("write `AND` or `OR`"), self.here());
                while *self.kind() == TokenKind::Comma {
                    self.advance();
                    self.recover();
                }
                if *self.kind() == TokenKind::Close {
                    self.advance();
                }
                None
            }
            _ => {
                let complaint = unclosed();
                self.problem(complaint, self.span(open, open + 1));
                None
            }
        }
    }

    fn vote_or_call(&mut self) -> Option<Expr> {
        match vote_parts(self.word_here()) {
            Some((m, n)) => self.vote(m, n),
            None => self.call(),
        }
    }

    fn vote(&mut self, m: &str, n: &str) -> Option<Expr> {
        let (start, end) = self.bounds();
        let written = self.word_here();
        let word = self.span(start, end);
        let sized = self.vote_size(m, n, word);
        if sized.is_some() && written != format!("{m}oo{n}") {
            let complaint =
                syntax(format!("`{written}` is a vote written with capital letters"), "small letters");
            self.problem(complaint.help(format!("write `{m}oo{n}`")), word);
        }
        self.advance();
        let (open, _) = self.bounds();
        let slots = self.nested(|parser| {
            parser.advance();
            Some(parser.list())
        })?;
        self.close(open)?;
        let (m, n) = sized?;
        if u32::try_from(slots.len()) != Ok(n) {
            self.problem(miscounted(m, n, slots.len()), word);
            return None;
        }
        let operands = slots.into_iter().collect::<Option<Vec<Expr>>>()?;
        let span = self.span(start, self.read_to());
        Some(Expr { kind: ExprKind::Vote(Vote { m, n, word, operands }), span })
    }

    /// M and N as numbers, if such a vote can be.
    fn vote_size(&mut self, m: &str, n: &str, word: Span) -> Option<(u32, u32)> {
        let plain = |digits: &str| digits.parse::<u32>().ok().filter(|_| !digits.starts_with('0'));
        let what = match (plain(m), plain(n)) {
            (Some(m), Some(n)) if m <= n => return Some((m, n)),
            (Some(m), Some(n)) => format!("{m} of {n} can never agree"),
            _ => "M and N are whole numbers from 1".into(),
        };
        let message = format!("{} is no vote: {what}", shown(&format!("{m}oo{n}")));
        let help = "write MooN with M not above N: `2oo3` trips when 2 of 3 agree";
        self.problem(Complaint::new("vote-impossible", message, "no such vote").help(help), word);
        None
    }

    /// The conditions between the parentheses of a vote; one slot each, also where one could not be read.
    fn list(&mut self) -> Vec<Option<Expr>> {
        let mut slots = Vec::new();
        if *self.kind() == TokenKind::Close {
            return slots;
        }
        slots.push(self.or());
        while *self.kind() == TokenKind::Comma {
            self.advance();
            slots.push(self.or());
        }
        slots
    }

    fn call(&mut self) -> Option<Expr> {
        let (start, _) = self.bounds();
        let function = self.tag();
        let (open, _) = self.bounds();
        self.advance();
        if *self.kind() == TokenKind::Word && self.next_is(1, &TokenKind::Close) {
            let argument = self.tag();
            self.advance();
            let span = self.span(start, self.read_to());
            return Some(Expr { kind: ExprKind::Call { function, argument }, span });
        }
        let name = shown(&function.text);
        let complaint = syntax(format!("{name} takes one tag in its parentheses"), "not one tag")
            .help(format!("write `{}(GD-1)` with a tag of the model", function.text));
        let mut depth = 1;
        while depth > 0 && *self.kind() != TokenKind::End {
            match self.kind() {
                TokenKind::Open => depth += 1,
                TokenKind::Close => depth -= 1,
                _ => {}
            }
            self.advance();
        }
        if depth > 0 {
            let complaint = unclosed();
            self.problem(complaint, self.span(open, open + 1));
        } else {
            self.problem(complaint, self.span(open, self.read_to()));
        }
        None
    }

    fn tag(&mut self) -> Tag {
        let tag = Tag { text: self.word_here().to_string(), span: self.here() };
        self.advance();
        tag
    }

    /// `2003(a, b, c)`: zeros in place of the letters.
    fn zeros_for_oo(&mut self) -> Option<Expr> {
        let word = self.word_here();
        let complaint = syntax(format!("{} before a parenthesis is no vote", shown(word)), "not a vote");
        let complaint = match word.split_once("00") {
            Some((m, n)) if !m.is_empty() && !n.is_empty() => {
                complaint.help(format!("write `{m}oo{n}`, with two small letters o"))
            }
            _ => complaint.help("write a vote such as `2oo3(a, b, c)`"),
        };
        self.problem(complaint, self.here());
        None
    }

    /// A condition is due and something else, or nothing, stands here.
    fn missing(&mut self) -> Option<Expr> {
        let before = self.at.checked_sub(1).and_then(|i| self.tokens.get(i)).map(|t| (t.start, t.end));
        let shown_before =
            before.map(|(start, end)| (shown(self.text_of(start, end)), self.span(start, end)));
        let here = shown(self.word_here());
        let (complaint, span) = match (shown_before, self.kind()) {
            (Some((before, span)), TokenKind::End) => {
                (syntax(format!("nothing follows {before}"), "a condition is missing after it"), span)
            }
            (None, TokenKind::And | TokenKind::Or | TokenKind::Xor) => (
                syntax(format!("nothing stands before {here}"), "a condition is missing before it"),
                self.here(),
            ),
            (Some((before, _)), _) => {
                let message = format!("a condition is missing between {before} and {here}");
                (syntax(message, "a condition is missing before it"), self.here())
            }
            (None, _) => {
                (syntax(format!("{here} cannot start a condition"), "a condition is due"), self.here())
            }
        };
        self.problem(complaint.help("write a condition such as `GD-1 >= 25 %LFL` there"), span);
        None
    }
}

/// A comparison or calculation with something that is a condition.
fn not_a_value(expr: &Expr) -> Complaint {
    let complaint =
        syntax("a condition cannot be compared or added, only values can", "no value stands before it");
    match &expr.kind {
        ExprKind::Vote(vote) => complaint.help(format!(
            "a vote counts conditions: write `{}oo{}(GD-1 >= 25 %LFL, ...)` with the comparison inside",
            vote.m, vote.n
        )),
        ExprKind::Call { function, .. } => {
            complaint.help(format!("`{}(...)` is true or false: write it alone, or with NOT", function.text))
        }
        ExprKind::Compare(_) => complaint.help("write two comparisons joined with AND"),
        _ => complaint.help("write the comparison without parentheses around a side of it"),
    }
}

fn miscounted(m: u32, n: u32, listed: usize) -> Complaint {
    let are = if listed == 1 { "is" } else { "are" };
    let message = format!("`{m}oo{n}` votes over {n} conditions, but {listed} {are} listed");
    let complaint = Complaint::new("vote-count", message, format!("{listed} listed"));
    if usize::try_from(m).is_ok_and(|m| m <= listed) {
        return complaint.help(format!("list {n} conditions, or write `{m}oo{listed}`"));
    }
    complaint.help(format!("list {n} conditions"))
}

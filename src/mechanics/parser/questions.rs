//! The rules of the grammar that only rules about parts have: `and`, `or`, `not`, `among`, `shares`, words and lists.
//!
//! The grammar itself stands at the head of `parser`, where the rest of it is.

use super::{Names, Parsed, Parser, is_name_character};
use crate::fault::{Fault, id};
use crate::mechanics::expression::{Belonging, Expression, Form, Junction};

impl Parser<'_> {
    pub(super) fn parse_question(&mut self) -> Parsed<Expression> {
        self.parse_joined(Junction::Or, Self::parse_both)
    }

    fn parse_both(&mut self) -> Parsed<Expression> {
        self.parse_joined(Junction::And, Self::parse_denied)
    }

    /// Questions with one word between them.
    fn parse_joined(&mut self, junction: Junction, inner: fn(&mut Self) -> Parsed<Expression>) -> Parsed<Expression> {
        let mut parts = vec![inner(self)?];
        while self.take_word(junction.word()) {
            parts.push(inner(self)?);
        }
        if parts.len() == 1 {
            return Ok(parts.remove(0));
        }
        let span = parts[0].span.to(parts[parts.len() - 1].span);
        Ok(Expression { span, form: Form::Join(junction, parts) })
    }

    fn parse_denied(&mut self) -> Parsed<Expression> {
        self.skip_space();
        let start = self.at;
        if !self.take_word("not") {
            return self.parse_asked();
        }
        self.deeper()?;
        let inner = self.parse_denied()?;
        self.depth -= 1;
        Ok(Expression { span: self.span_from(start), form: Form::Not(Box::new(inner)) })
    }

    fn parse_asked(&mut self) -> Parsed<Expression> {
        let first = self.parse_sum()?;
        for word in [Belonging::Among, Belonging::Shares] {
            if self.take_word(word.word()) {
                let list = self.parse_sum()?;
                let span = first.span.to(list.span);
                return Ok(Expression { span, form: Form::Belong(word, Box::new([first, list])) });
            }
        }
        self.parse_compared(first, false)
    }

    /// A word in double quotes; none of its letters has a meaning of its own.
    pub(super) fn parse_quoted(&mut self) -> Parsed<Expression> {
        let start = self.at;
        let Some(length) = self.rest()[1..].find('"') else {
            let span = self.mapped.span(start..start + 1);
            return Err(Fault::new(id::UNCLOSED_BRACKET, span, "these quotes are never closed").cure("close them"));
        };
        let word = self.rest()[1..=length].to_owned();
        self.at += length + 2;
        Ok(Expression { span: self.span_from(start), form: Form::Word(word) })
    }

    pub(super) fn parse_list(&mut self) -> Parsed<Expression> {
        let start = self.at;
        self.at += 1;
        self.deeper()?;
        self.calls += 1;
        let mut items = vec![self.parse_sum()?];
        while self.take(',') {
            items.push(self.parse_sum()?);
        }
        self.calls -= 1;
        self.depth -= 1;
        if !self.take(']') {
            return Err(self.unexpected("the list should close here").allowed("]"));
        }
        Ok(Expression { span: self.span_from(start), form: Form::List(items) })
    }

    /// Steps over a word of questions, where it stands here whole.
    fn take_word(&mut self, word: &str) -> bool {
        self.skip_space();
        let found = self.rest().strip_prefix(word).is_some_and(|rest| !rest.starts_with(is_name_character));
        if found && self.names == Names::OfRules {
            self.at += word.len();
            return true;
        }
        false
    }
}

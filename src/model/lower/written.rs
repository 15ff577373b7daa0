//! Notes where fields stand in the file, for findings that point at a field and not at a whole element.
//!
//! Only fields that some finding points at are noted. What they say is lowered elsewhere.

use super::Lowering;
use crate::source::Span;
use crate::syntax::leaf::Scalar;

impl Lowering<'_> {
    /// Notes the fields of the document.
    pub(super) fn written(&mut self) {
        let doc = self.doc;
        for (key, item) in doc.couplings.iter().flat_map(|table| &table.entries) {
            self.stands(key, &[("expires", item.expires.as_ref().map(|leaf| leaf.span))]);
        }
        for (key, item) in doc.fault_exclusions.iter().flat_map(|table| &table.entries) {
            self.stands(key, &[("expires", Some(item.expires.span))]);
        }
        for (key, item) in doc.assumptions.iter().flat_map(|table| &table.entries) {
            self.stands(key, &[("expires", item.expires.as_ref().map(|leaf| leaf.span))]);
        }
        for (key, item) in doc.accepted.iter().flat_map(|table| &table.entries) {
            self.stands(key, &[("expires", Some(item.expires.span))]);
        }
    }

    fn stands(&mut self, key: &Scalar, fields: &[(&'static str, Option<Span>)]) {
        for (field, span) in fields {
            if let Some(span) = span {
                self.model.fields.insert((key.text.clone(), field), *span);
            }
        }
    }
}

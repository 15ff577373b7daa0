//! Lowers what equipment shares: supplies, routes, cabinets, stores, machines, parameter sources, types,
//! conditioners and relays.

use super::Lowering;
use super::calculation::field::Field;
use super::tag::Class;
use crate::model::{Conditioner, Parents, Plain, Relay, Shared, SharedKind, Supply};
use crate::syntax::document;
use crate::syntax::kind::Tag;
use crate::syntax::leaf::{List, Table};

impl Lowering<'_> {
    /// What makes an element misbehave besides itself: its cabinet, its type, what it needs.
    pub(super) fn parents(
        &mut self,
        cabinet: Option<&Tag>,
        kind: Option<&Tag>,
        needs: Option<&List<Tag>>,
    ) -> Parents {
        let cabinet = self.optional_id(cabinet, &[Class::Cabinet], "cabinet");
        let mut shared: Vec<_> = self.optional_id(kind, &[Class::Type], "type").into_iter().collect();
        shared.extend(self.ids::<crate::model::SharedId>(needs, Class::NEEDED, "needs"));
        Parents { cabinet, shared }
    }

    /// Supplies; what feeds them is resolved here, rings among them are found in `whole`.
    pub(super) fn supplies(&mut self) {
        for (key, supply) in self.doc.supplies.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, supply.title.as_ref());
            let fed_by = supply.fed_by.as_ref().and_then(|feeds| self.feeds(feeds));
            self.time(supply.change_over.as_ref(), (key, Field::ChangeOver));
            let lasts = self.time(supply.lasts.as_ref(), (key, Field::Lasts));
            let secured = self.flag(supply.secured.as_ref(), false);
            let monitored = self.flag(supply.monitored.as_ref(), false);
            let cabinet = self.optional_id(supply.cabinet.as_ref(), &[Class::Cabinet], "cabinet");
            self.model.supplies.push(Supply { name, fed_by, lasts, secured, monitored, cabinet });
        }
    }

    /// Routes, cabinets, stores, machines, parameter sources, types, conditioners and relays.
    pub(super) fn shared_elements(&mut self) {
        for (key, plain) in self.doc.routes.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, plain.title.as_ref());
            self.model.routes.push(Plain { name });
        }
        for (key, plain) in self.doc.cabinets.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, plain.title.as_ref());
            self.model.cabinets.push(Plain { name });
        }
        for (key, store) in self.doc.stores.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, store.title.as_ref());
            let lasts = self.time(store.lasts.as_ref(), (key, Field::Lasts));
            self.model.shared.push(Shared { name, kind: SharedKind::Store, lasts });
        }
        self.shared(self.doc.machines.as_ref(), SharedKind::Machine);
        self.shared(self.doc.parameter_sources.as_ref(), SharedKind::ParameterSource);
        self.shared(self.doc.types.as_ref(), SharedKind::Type);
        for (key, item) in self.doc.conditioners.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, item.title.as_ref());
            let supply = self.optional_id(item.supply.as_ref(), &[Class::Supply], "supply");
            let parents = self.parents(item.cabinet.as_ref(), item.kind.as_ref(), item.needs.as_ref());
            self.model.conditioners.push(Conditioner { name, supply, parents });
        }
        for (key, item) in self.doc.relays.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, item.title.as_ref());
            let supply = self.optional_id(item.supply.as_ref(), &[Class::Supply], "supply");
            let parents = self.parents(item.cabinet.as_ref(), item.kind.as_ref(), item.needs.as_ref());
            self.model.relays.push(Relay { name, supply, parents });
        }
    }

    fn shared(&mut self, table: Option<&Table<document::Plain>>, kind: SharedKind) {
        for (key, plain) in table.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, plain.title.as_ref());
            self.model.shared.push(Shared { name, kind, lasts: None });
        }
    }
}

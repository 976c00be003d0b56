//! Who asks: the reader at their own computer, nobody, or somebody who is signed in.

use crate::access::Needs;
use records::Role;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

/// Who asks for a page.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) enum Who {
    /// The reader at this computer, where everything is theirs.
    #[default]
    Own,
    /// Somebody from elsewhere who is not signed in.
    Nobody,
    /// Somebody who is signed in.
    Person(Arc<SignedIn>),
}

/// Somebody who is signed in.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct SignedIn {
    pub name: String,
    /// Of the session, as the browser has it.
    pub token: String,
    /// What they may do, by department.
    pub posts: BTreeMap<String, Role>,
}

impl fmt::Debug for SignedIn {
    /// Without the token, which belongs in no log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let SignedIn { name, posts, .. } = self;
        let mut shown = f.debug_struct("SignedIn");
        shown.field("name", name).field("posts", posts);
        shown.finish_non_exhaustive()
    }
}

/// Why somebody may not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Denied {
    /// Nobody is signed in.
    SignIn,
    /// For them there is no such department.
    Unknown,
    /// They may do less in it than that takes.
    Less(Role),
    /// It takes a keeper of some department.
    NoKeeper,
}

impl Who {
    /// What is needed, in the department `slug`.
    pub fn may(&self, needs: Needs, slug: &str) -> Result<(), Denied> {
        let person = match self {
            Who::Own => return Ok(()),
            Who::Nobody if needs == Needs::Nothing => return Ok(()),
            Who::Nobody => return Err(Denied::SignIn),
            Who::Person(person) => person,
        };
        match needs {
            Needs::Nothing | Needs::SignedIn => Ok(()),
            Needs::KeeperOfAny => {
                let keeper = person.posts.values().any(|role| *role == Role::Keeper);
                keeper.then_some(()).ok_or(Denied::NoKeeper)
            }
            Needs::Role(role) => match person.posts.get(slug) {
                Some(own) if *own >= role => Ok(()),
                Some(_) => Err(Denied::Less(role)),
                None => Err(Denied::Unknown),
            },
        }
    }

    /// May they do this, or more, in the department `slug`?
    pub fn is(&self, role: Role, slug: &str) -> bool {
        self.may(Needs::Role(role), slug).is_ok()
    }

    pub fn person(&self) -> Option<&Arc<SignedIn>> {
        match self {
            Who::Person(person) => Some(person),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_role_counts_in_its_own_department_alone() {
        let posts = [("bend", Role::Editor), ("arbour", Role::Reader)];
        let who = Who::Person(Arc::new(SignedIn {
            name: "Ann".into(),
            token: "secret".into(),
            posts: posts.map(|(slug, role)| (slug.into(), role)).into(),
        }));
        assert!(who.is(Role::Tester, "bend"));
        assert!(!who.is(Role::Keeper, "bend"));
        let needs = Needs::Role(Role::Tester);
        assert_eq!(who.may(needs, "arbour"), Err(Denied::Less(Role::Tester)));
        assert_eq!(who.may(needs, "elsewhere"), Err(Denied::Unknown));
        assert_eq!(who.may(Needs::KeeperOfAny, ""), Err(Denied::NoKeeper));
        assert_eq!(Who::Nobody.may(Needs::SignedIn, ""), Err(Denied::SignIn));
        assert!(Who::Nobody.may(Needs::Nothing, "").is_ok());
        assert!(!format!("{who:?}").contains("secret"));
    }
}

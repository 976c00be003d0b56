//! Who is signed in, who has to wait, and what links show.
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{By, Joined, NewIssue, NewLink, Note, Records, RecordsError, Role, SigningIn, Tries};

const HASH: &str = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$aW52ZW50ZWQ";
const OTHER: &str = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$b3RoZXI";

/// Two departments, Ann keeper of both and Bo of one.
async fn filled(place: &Place) -> Records {
    let records = place.records().await;
    let (note, by) = (Note::default(), By::new("Ann", 0));
    for name in ["Ann", "Bo"] {
        records.set_person(name, Some(HASH), &by).await.unwrap();
    }
    for slug in ["bend", "arbour"] {
        let made = records.create_for("Ann", (slug, slug), "text", &note);
        made.await.unwrap();
    }
    let role = records.set_role("bend", "Bo", Some(Role::Keeper), &by);
    role.await.unwrap();
    records
}

fn signing_in<'a>(token: &'a str, before: Option<&'a str>, at: i64) -> SigningIn<'a> {
    SigningIn {
        name: "Ann",
        hash: HASH,
        token,
        before,
        ends: 50_000,
        from: "203.0.113.7",
        at,
    }
}

async fn a_session_is_good_until_it_is_left_alone_too_long_or_over(place: Place) {
    let records = filled(&place).await;
    assert!(
        records
            .sign_in(&signing_in("one", None, 100))
            .await
            .unwrap()
    );
    let session = |now, awake| records.session("one", now, 1800, awake);
    let found = session(200, true).await.unwrap().unwrap();
    assert_eq!(
        (found.name.as_str(), found.made, found.ends),
        ("Ann", 100, 50_000)
    );
    assert!(
        records
            .session("two", 200, 1800, true)
            .await
            .unwrap()
            .is_none()
    );
    // A page that asks by itself keeps nobody signed in.
    assert!(session(1_900, false).await.unwrap().is_some());
    assert!(session(2_001, true).await.unwrap().is_none());
    assert!(session(1_999, true).await.unwrap().is_some());
    let mut now = 3_000;
    while now < 50_000 {
        assert!(session(now, true).await.unwrap().is_some(), "{now}");
        now += 1_000;
    }
    assert!(session(50_000, true).await.unwrap().is_none(), "it is over");
}

async fn a_token_is_never_kept_and_each_sign_in_has_its_own(place: Place) {
    let records = filled(&place).await;
    records
        .sign_in(&signing_in("one", None, 100))
        .await
        .unwrap();
    records
        .sign_in(&signing_in("elsewhere-is-a-token", None, 100))
        .await
        .unwrap();
    let again = signing_in("two", Some("one"), 200);
    records.sign_in(&again).await.unwrap();
    assert!(
        records
            .session("one", 200, 1800, true)
            .await
            .unwrap()
            .is_none()
    );
    let all = records.sessions("Ann", "two", 200, 1800).await.unwrap();
    let own: Vec<bool> = all.iter().map(|session| session.own).collect();
    assert_eq!(own, [true, false]);
    let by = By::new("Ann", 300);
    records.sign_out_elsewhere("two", &by).await.unwrap();
    assert_eq!(
        records
            .sessions("Ann", "two", 300, 1800)
            .await
            .unwrap()
            .len(),
        1
    );
    records.sign_out("two", &by).await.unwrap();
    assert!(
        records
            .session("two", 300, 1800, true)
            .await
            .unwrap()
            .is_none()
    );
    // Another password ends what came in by the one before, and a sign-in under way.
    records
        .sign_in(&signing_in("three", None, 400))
        .await
        .unwrap();
    records.set_person("Ann", Some(OTHER), &by).await.unwrap();
    assert!(
        records
            .session("three", 400, 1800, true)
            .await
            .unwrap()
            .is_none()
    );
    assert!(
        !records
            .sign_in(&signing_in("four", None, 400))
            .await
            .unwrap()
    );
    let trail = records.trail("arbour", None, 20).await.unwrap();
    let told: Vec<&str> = trail.iter().map(|deed| deed.what.as_str()).collect();
    for what in [
        "signed in",
        "signed out",
        "signed out elsewhere",
        "password set",
    ] {
        assert!(told.contains(&what), "{what} is missing from {told:?}");
    }
    if let Some(file) = place.address.strip_prefix("sqlite:") {
        records.close().await;
        let bytes = std::fs::read(file).unwrap();
        let secret = b"elsewhere-is-a-token";
        assert!(!bytes.windows(secret.len()).any(|bytes| bytes == secret));
    }
}

async fn after_some_wrong_tries_the_next_waits_longer_and_longer(place: Place) {
    let records = filled(&place).await;
    let of = |of: &str, free, forgives| Tries {
        of: of.into(),
        free,
        forgives,
    };
    let both = [of("Ann 203.0.113.7", 3, true), of("203.0.113.7", 6, false)];
    for now in 0..3 {
        assert_eq!(records.attempt(&both, now).await.unwrap(), None);
    }
    assert_eq!(records.attempt(&both, 3).await.unwrap(), Some(14));
    // Whoever asks too early does not have to wait longer for it.
    assert_eq!(records.attempt(&both, 16).await.unwrap(), Some(1));
    assert_eq!(records.attempt(&both, 17).await.unwrap(), None);
    assert_eq!(records.attempt(&both, 18).await.unwrap(), Some(29));
    // From elsewhere it can be tried meanwhile.
    let elsewhere = [
        of("Ann 198.51.100.4", 3, true),
        of("198.51.100.4", 6, false),
    ];
    assert_eq!(records.attempt(&elsewhere, 18).await.unwrap(), None);
    assert_eq!(records.attempt(&both, 47).await.unwrap(), None);
    records.attempt_was_right(&both).await.unwrap();
    // Ann's are forgiven, those of the address are not: four stand.
    for now in 48..50 {
        assert_eq!(records.attempt(&both, now).await.unwrap(), None);
    }
    let third = [of("Cy 203.0.113.7", 3, true), both[1].clone()];
    assert_eq!(records.attempt(&third, 50).await.unwrap(), Some(14));
    // After an hour all is forgotten.
    assert_eq!(records.attempt(&both, 3_700).await.unwrap(), None);
}

/// Many at once cannot all come before the first is counted.
async fn tries_at_the_same_moment_are_all_counted(place: Place) {
    let records = filled(&place).await;
    let tries = (0..20).map(|_| {
        let records = records.clone();
        let one = [Tries {
            of: "Ann".into(),
            free: 5,
            forgives: true,
        }];
        tokio::spawn(async move { records.attempt(&one, 100).await.unwrap() })
    });
    let mut let_in = 0;
    for tried in tries.collect::<Vec<_>>() {
        let_in += usize::from(tried.await.unwrap().is_none());
    }
    assert_eq!(let_in, 5);
}

fn sheet() -> NewIssue {
    NewIssue {
        kind: "line-card".into(),
        subject: "left".into(),
        title: "Left".into(),
        units: "us".into(),
        size: "pocket".into(),
        date: "2026-05-11".into(),
        code: "C4K-XEY-EP7".into(),
        digest: "invented".into(),
        revision: 1,
        told: Vec::new(),
    }
}

async fn a_readers_link_shows_one_sheet_until_it_is_withdrawn_or_over(place: Place) {
    let records = filled(&place).await;
    let by = By::new("Ann", 100);
    let issue = records.issue("bend", &[sheet()], 50, "Ann").await.unwrap()[0];
    let new = NewLink {
        token: "secret",
        ends: 1_000,
    };
    let elsewhere = records.make_link("arbour", issue, &new, &by).await;
    assert!(matches!(elsewhere, Err(RecordsError::NoIssue(_))));
    let id = records.make_link("bend", issue, &new, &by).await.unwrap();
    let link = records.link("secret").await.unwrap().unwrap();
    assert_eq!(
        (link.id, link.issue, link.slug.as_str()),
        (id, issue, "bend")
    );
    assert!(link.is_good(999) && !link.is_good(1_000));
    assert_eq!(records.link("Secret").await.unwrap(), None);
    assert_eq!(records.links("bend").await.unwrap(), [link]);
    assert_eq!(records.links("arbour").await.unwrap(), []);
    assert!(!records.withdraw_link("arbour", id, &by).await.unwrap());
    assert!(records.withdraw_link("bend", id, &by).await.unwrap());
    assert!(!records.withdraw_link("bend", id, &by).await.unwrap());
    let link = records.link("secret").await.unwrap().unwrap();
    assert!(!link.is_good(200));
    let trail = records.trail("bend", None, 2).await.unwrap();
    let told: Vec<&str> = trail.iter().map(|deed| deed.what.as_str()).collect();
    assert_eq!(told, ["reader's link withdrawn", "reader's link made"]);
    // The rest page by page.
    let rest = records.trail("bend", Some(trail[1].id), 100).await.unwrap();
    assert!(rest.iter().all(|deed| deed.id < trail[1].id) && !rest.is_empty());
}

async fn a_password_is_set_once_by_a_link_that_a_keeper_of_all_ones_departments_makes(
    place: Place,
) {
    let records = filled(&place).await;
    let (ann, bo) = (By::new("Ann", 100), By::new("Bo", 100));
    let new = NewLink {
        token: "welcome",
        ends: 1_000,
    };
    let cy = ("Cy", Role::Tester);
    let joined = records.add_person("bend", cy, &new, &bo).await.unwrap();
    assert_eq!(joined, Joined::New);
    let used = |token, now| records.use_welcome(token, OTHER, ("203.0.113.7", now));
    assert_eq!(used("welcome", 1_000).await.unwrap(), None, "it is over");
    assert_eq!(
        records.welcome("welcome", 999).await.unwrap().as_deref(),
        Some("Cy")
    );
    assert_eq!(used("welcome", 999).await.unwrap().as_deref(), Some("Cy"));
    assert_eq!(used("welcome", 999).await.unwrap(), None, "it was used");
    let cy = records.person("Cy").await.unwrap().unwrap();
    assert_eq!(cy.hash.as_deref(), Some(OTHER));
    // Who is known already keeps the password.
    let known = ("Cy", Role::Reader);
    let joined = records
        .add_person("arbour", known, &new, &ann)
        .await
        .unwrap();
    assert_eq!(joined, Joined::Known);
    assert_eq!(records.welcome("welcome", 100).await.unwrap(), None);
    // Bo keeps one of Cy's departments and not the other; nor Ann's.
    let made = |name, by| records.make_welcome("bend", name, &new, by);
    assert!(!made("Cy", &bo).await.unwrap());
    assert!(!made("Ann", &bo).await.unwrap());
    assert!(!made("nobody", &bo).await.unwrap());
    assert!(made("Cy", &ann).await.unwrap());
    assert_eq!(records.posts("Cy").await.unwrap().len(), 2);
    assert!(records.anybody().await.unwrap());
    let typed = records.use_welcome("welcome", "hydrant", ("", 100)).await;
    assert!(matches!(typed, Err(RecordsError::Hash)));
}

on_both!(
    a_session_is_good_until_it_is_left_alone_too_long_or_over,
    a_token_is_never_kept_and_each_sign_in_has_its_own,
    after_some_wrong_tries_the_next_waits_longer_and_longer,
    tries_at_the_same_moment_are_all_counted,
    a_readers_link_shows_one_sheet_until_it_is_withdrawn_or_over,
    a_password_is_set_once_by_a_link_that_a_keeper_of_all_ones_departments_makes,
);

//! `page`: what it is called, what gives way to it, a squad's.

use crate::material::names;
use crate::run::Run;

const SCRIPT: &str = "lengthwise: 1\ntitle: Monday\npool: 25 m\npack: first-lengths\npractice:\n  \
    - { set: Fifties, swim: 3 x 50 m on 2:10, focus: head-still }\n";

#[test]
fn a_page_takes_the_place_of_its_own_alone() {
    let first = Run::new("page monday.yaml --no-speech").file("monday.yaml", SCRIPT).stderr("wrote monday.html").run();
    let again = first.then("page monday.yaml --no-speech --swimmer 1:40").stderr("wrote monday.html").run();
    assert!(std::fs::read_to_string(again.path("monday.html")).unwrap().contains("1:40 for 100 m"));
    let other = again
        .then("page friday.yaml --no-speech -o monday.html")
        .file("friday.yaml", SCRIPT.replace("Monday", "Friday"));
    let refused = other.exit(3).stderr("monday.html exists already").run();
    refused.then("page friday.yaml --no-speech -o monday.html --force").stderr("wrote").run();
    refused
        .then("page monday.yaml --no-speech -o monday.yaml")
        .exit(2)
        .stderr("a page's name ends in .html, such as monday.html")
        .run();
    refused.then("page monday.yaml --no-speech -o -").stdout("<!DOCTYPE html>").run();
    let wrong = SCRIPT.replace("3 x 50 m", "3 x 55 m");
    refused.then("page wrong.yaml --no-speech").file("wrong.yaml", wrong).exit(1).stderr("wrong.yaml:6").run();
}

#[test]
fn a_squad_has_a_page_each_and_nobody_is_stopped_by_another() {
    let roster = "name,hundred,pool\nIda,1:38,25 m\nBo,nonsense,25 m\nCy,2:05,25 m\n";
    let run = Run::new("page monday.yaml --no-speech --roster squad.csv -o pages")
        .file("monday.yaml", SCRIPT)
        .file("squad.csv", roster);
    let ran = run.exit(1).stderr("Bo: no page, ").stderr("squad.csv:3").run();
    assert_eq!(names(&ran.path("pages")), ["Cy.html", "Ida.html"]);
    assert!(std::fs::read_to_string(ran.path("pages/Ida.html")).unwrap().contains("<bdi>Ida</bdi>"));
    ran.then("page monday.yaml --no-speech --roster squad.csv").exit(2).stderr("name it with -o DIR").run();
}

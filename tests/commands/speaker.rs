//! A lane with one speaker, or with a file each: what the plan says of it, and what is refused with the way out.

use crate::run::Run;

const SCRIPT: &str = "lengthwise: 1\ntitle: Tuesday\npool: 25 m\npack: first-lengths\npractice:\n  - { set: Fifties, swim: 4 x 50 m on 1:40 }\n";
const LANES: &str =
    "name,pool,hundred,lane,swims\nBo Lind,25 m,1:35,1,\nIda Berg,25 m,1:40,1,3 of 4\nCy Dahl,25 m,2:00,by the wall,\n";

fn with_lanes(args: &str) -> Run {
    Run::new(args).file("a.yaml", SCRIPT).file("lanes.csv", LANES)
}

#[test]
fn the_plan_names_the_lane_and_its_order() {
    let ran = with_lanes("check a.yaml --lane lanes.csv").stdout("Lane 1 · 5 s apart").stdout("Lane by the wall").run();
    assert!(ran.stdout.contains("      2  Ida Berg  +5 s · swims 3 of 4\n"), "{}", ran.stdout);
    let json = ran.then("check a.yaml --lane lanes.csv --lane-name 1 --json").run().json();
    let lane = &json["lane"];
    assert_eq!((&lane["name"], &lane["gap_s"]), (&"1".into(), &5.0.into()));
    assert_eq!(lane["swimmers"][1], serde_json::json!({ "name": "Ida Berg", "offset_s": 5.0, "swims": "3 of 4" }));
    // Several lanes: each with its own plan, and what one speaker for all comes to.
    let json = ran.then("check a.yaml --lane lanes.csv --json").run().json();
    let names: Vec<&str> =
        json["lanes"].as_array().unwrap().iter().map(|one| one["lane"]["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["1", "by the wall"]);
    // 4 x 50 m on 1:40: from one go to the next 100 s, in each plan and for all.
    let sent = |plan: &serde_json::Value| plan["sets"][0]["repeats"][0]["send_off_s"].as_f64();
    assert_eq!([&json, &json["lanes"][0], &json["lanes"][1]].map(sent), [Some(100.0); 3]);
    assert!(json.get("lane").is_none() && json.get("no_one_speaker").is_none());
    ran.then("check a.yaml --lane lanes.csv --lane-name 7").exit(1).stderr("the lanes are 1, by the wall").run();
}

#[test]
fn one_lane_is_rendered_for_a_speaker() {
    let ran = with_lanes("play a.yaml --lane lanes.csv --no-record")
        .exit(2)
        .stderr("--lane-name")
        .stderr("(1, by the wall)")
        .run();
    let render = "render a.yaml --lane lanes.csv --lane-name 1 --rate 8000 --mono";
    ran.then(render).exit(2).stderr("--for speaker").run();
    ran.then(&format!("{render} --for speaker --split set")).exit(2).stderr("one clock").run();
    ran.then(&format!("{render} --for speaker --swimmer 1:50")).exit(2).stderr("swims alone").run();
    assert!(ran.files().iter().all(|name| !name.ends_with(".wav")), "{:?}", ran.files());
    let made = ran.then(&format!("{render} --for speaker --captions")).stdout("passes the top (60)").run();
    let captions = std::fs::read_to_string(made.path("a lane 1.vtt")).unwrap();
    // Without a fourth repeat of hers.
    let two = captions.lines().filter(|line| ["Ida", "two"].contains(line)).count();
    assert_eq!(two, 3, "{captions}");
}

#[test]
fn several_lanes_share_a_speaker() {
    let ran =
        with_lanes("render a.yaml --lane lanes.csv --for speaker --rate 8000 --mono --captions").stdout("a.wav").run();
    let captions = std::fs::read_to_string(ran.path("a.vtt")).unwrap();
    let said = |text: &str| captions.lines().filter(|line| *line == text).count();
    // One practice, said once; the second of lane 1, who sits out the fourth, is the only one of that number.
    assert_eq!((said("next Fifties") + said("Fifties"), said("lane one"), said("two")), (1, 1, 3), "{captions}");
    let checked = ran.then("check a.yaml --lane lanes.csv").stdout("All lanes at one speaker · ").run();
    // From one clock to the other 1:40: three readings (arithmetic), those of the sound.
    let clock: Vec<&str> = checked.stdout.lines().filter(|line| line.trim_start().starts_with("clock")).collect();
    assert!(clock.len() == 3 && clock[2].split_whitespace().count() == 5, "{clock:?}");
    ran.then("check a.yaml --lane lanes.csv --timeline").stdout("\tlane one\n").run();
    let apart = "lengthwise-roster: 1\npool: 25 m\nlanes: [{ lane: 1 }, { lane: 2, send-off: 20 s more per 100 }]\n\
                 swimmers:\n  - { name: Bo, hundred: 1:35, lane: 1 }\n  - { name: Cy, hundred: 2:00, lane: 2 }\n";
    std::fs::write(ran.path("apart.yaml"), apart).unwrap();
    // 50 m on 1:40, and 10 s more: by hand the second lane's third go is 220 s behind its first.
    let checked = ran.then("check a.yaml --lane apart.yaml").stdout("Fifties, lane 2: ").run();
    let clock = |lane: &str| {
        let line = checked.stdout.lines().find(|line| line.contains(&format!("Fifties, lane {lane}:")));
        let marks: Vec<i64> =
            line.unwrap().split_whitespace().rev().take(2).map(|mark| mark.parse().unwrap()).collect();
        (marks[0] - marks[1]).rem_euclid(60)
    };
    assert_eq!((clock("1"), clock("2")), (40, 50), "{}", checked.stdout);
    ran.then("render a.yaml --lane apart.yaml --for speaker --rate 8000 --mono -o b.wav").stdout("b.wav").run();
    let odd = apart.replace("20 s more per 100", "20 s more per 100, gap: 7 s")
        + "  - { name: Eve, hundred: 2:00, lane: 2 }\n";
    std::fs::write(ran.path("odd.yaml"), odd).unwrap();
    let why = "every fifth second only: in Fifties Eve of lane 2 leaves 0:07 after the first go";
    ran.then("check a.yaml --lane odd.yaml").stdout(why).run();
    let json = ran.then("check a.yaml --lane odd.yaml --json").run().json();
    assert!(
        json["no_one_speaker"].as_str().unwrap().contains(why) && json["lanes"].as_array().unwrap().len() == 2,
        "{json}"
    );
    ran.then("render a.yaml --lane odd.yaml --for speaker -o c.wav").exit(1).stderr("--lane-name").no_stdout().run();
    assert!(!ran.path("c.wav").exists());
}

#[test]
fn a_script_that_names_its_lane_needs_no_file() {
    let lane = "lane: { swimmers: [{ name: Bo, hundred: 1:35 }, { name: Ida, hundred: 1:40 }] }\npractice:";
    let ran = Run::new("check a.yaml").file("a.yaml", SCRIPT.replace("practice:", lane)).stdout("Bo   leads").run();
    ran.then("play a.yaml --dry-run --no-record").stdout("go: Ida, Fifties, 4 of 4").run();
    // Somebody who swims it alone can.
    ran.then("check a.yaml --swimmer 1:50").stdout("Fifties").run();
    ran.then("render a.yaml --for speaker --rate 8000 --mono").stdout("a.wav").run();
}

#[test]
fn each_swimmer_of_a_lane_gets_a_file_on_one_clock() {
    let render = "render a.yaml --lane lanes.csv --lane-files pool --rate 8000 --mono --captions";
    let ran = with_lanes(render).stdout("ALL PRESS START ON ONE SIGNAL").stdout("3 made · 0 unchanged").run();
    assert!(ran.stdout.contains("Ida Berg") && ran.path("pool/Ida Berg/a.wav").is_file(), "{}", ran.stdout);
    let captions = std::fs::read_to_string(ran.path("pool/Ida Berg/a.vtt")).unwrap();
    assert!(captions.contains("number two leave five seconds after the first"), "{captions}");
    ran.then(render).stdout("0 made · 3 unchanged").run();
    // Another pace of hers makes hers again; whose talk and rest stay as they are keep theirs.
    std::fs::write(ran.path("lanes.csv"), LANES.replace("1:40", "1:41")).unwrap();
    ran.then(render).stdout("made").run();
    ran.then("check a.yaml --lane lanes.csv --swimmer Ida --timeline").exit(2).stderr("Ida Berg").run();
    ran.then(&format!("{render} --for speaker")).exit(2).stderr("for the ear").run();
}

//! The canonical form, by the examples that RFC 8785 itself publishes, and by what it promises.

use proptest::prelude::*;
use record::canonical;
use serde_json::{Map, Value, json};

fn canonical(value: &Value) -> String {
    String::from_utf8(canonical::bytes(value)).unwrap()
}

/// RFC 8785, appendix B, "Number Serialization Samples": the bits of a number, and how it is written.
#[test]
fn numbers_are_written_as_appendix_b_says() {
    let samples: [(u64, &str); 24] = [
        (0x0000_0000_0000_0000, "0"),
        (0x8000_0000_0000_0000, "0"),
        (0x0000_0000_0000_0001, "5e-324"),
        (0x8000_0000_0000_0001, "-5e-324"),
        (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
        (0xffef_ffff_ffff_ffff, "-1.7976931348623157e+308"),
        (0x4340_0000_0000_0000, "9007199254740992"),
        (0xc340_0000_0000_0000, "-9007199254740992"),
        (0x4430_0000_0000_0000, "295147905179352830000"),
        (0x44b5_2d02_c7e1_4af5, "9.999999999999997e+22"),
        (0x44b5_2d02_c7e1_4af6, "1e+23"),
        (0x44b5_2d02_c7e1_4af7, "1.0000000000000001e+23"),
        (0x444b_1ae4_d6e2_ef4e, "999999999999999700000"),
        (0x444b_1ae4_d6e2_ef4f, "999999999999999900000"),
        (0x444b_1ae4_d6e2_ef50, "1e+21"),
        (0x3eb0_c6f7_a0b5_ed8c, "9.999999999999997e-7"),
        (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
        (0x41b3_de43_5555_5553, "333333333.3333332"),
        (0x41b3_de43_5555_5554, "333333333.33333325"),
        (0x41b3_de43_5555_5555, "333333333.3333333"),
        (0x41b3_de43_5555_5556, "333333333.3333334"),
        (0x41b3_de43_5555_5557, "333333333.33333343"),
        (0xbecb_f647_612f_3696, "-0.0000033333333333333333"),
        (0x4314_3ff3_c1cb_0959, "1424953923781206.2"),
    ];
    for (bits, written) in samples {
        assert_eq!(canonical(&json!(f64::from_bits(bits))), written, "{bits:016x}");
    }
}

/// RFC 8785, sections 3.2.1 and 3.2.2: the sample, and the same made canonical.
#[test]
fn the_sample_of_section_3_2_comes_out_as_printed_there() {
    let sample = r#"{
        "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
        "literals": [null, true, false]
    }"#;
    let printed = r#"{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}"#;
    assert_eq!(canonical(&serde_json::from_str(sample).unwrap()), printed);
}

/// RFC 8785, section 3.2.3: keys sort by their UTF-16 units, so that an emoji stands before `\ufb33`.
#[test]
fn keys_sort_as_section_3_2_3_says() {
    let sample = r#"{
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\ud83d\ude00": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis"
    }"#;
    let written = canonical(&serde_json::from_str(sample).unwrap());
    let names = ["Carriage", "One", "Control", "Latin", "Euro", "Emoji", "Hebrew"];
    let places: Vec<usize> = names.iter().map(|name| written.find(name).unwrap()).collect();
    assert!(places.is_sorted(), "{written}");
}

/// 200 random values and their forms by a library outside this project: `tests/outside/canonical.py`.
#[test]
fn another_implementation_writes_the_same() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/outside/canonical.json");
    let known: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let cases = known["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 200);
    for case in cases {
        let value: Value = serde_json::from_str(case["json"].as_str().unwrap()).unwrap();
        assert_eq!(canonical(&value), case["canonical"].as_str().unwrap());
        let hash = canonical::hex(&canonical::sha256(&canonical::bytes(&value)));
        assert_eq!(hash, case["sha256"].as_str().unwrap());
    }
}

fn any_json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<u32>().prop_map(Value::from),
        any::<String>().prop_map(Value::from),
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            prop::collection::vec((any::<String>(), inner), 0..6).prop_map(|pairs| Value::Object(pairs.into_iter().collect())),
        ]
    })
}

fn backwards(value: &Value) -> Value {
    match value {
        Value::Array(items) => items.iter().map(backwards).collect(),
        Value::Object(pairs) => Value::Object(pairs.iter().rev().map(|(k, v)| (k.clone(), backwards(v))).collect::<Map<_, _>>()),
        other => other.clone(),
    }
}

proptest! {
    /// Nothing is lost, the order of keys says nothing, and what is canonical stays as it is.
    #[test]
    fn one_value_has_one_form(value in any_json()) {
        let written = canonical(&value);
        let read: Value = serde_json::from_str(&written).unwrap();
        prop_assert_eq!(&read, &value);
        prop_assert_eq!(&canonical(&read), &written);
        prop_assert_eq!(canonical(&backwards(&value)), written);
    }
}

#![no_main]

#[path = "../doors/mod.rs"]
#[expect(dead_code, reason = "each target uses one door")]
mod doors;
#[path = "../../frames/kit.rs"]
#[expect(dead_code, reason = "each target uses a part of it")]
mod table;

libfuzzer_sys::fuzz_target!(|data: &[u8]| doors::plan(data));

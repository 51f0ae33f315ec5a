//! Speed of sound in bubbly coolant and between elastic walls.

use crate::bench::six_vehicle;
use crate::table::{Row, Table, Worst};
use waterjacket::scenario::CoolingSpec;
use waterjacket::vehicle::wave_speed;

fn water(row: Row) -> CoolingSpec {
    let mut cooling = six_vehicle().cooling;
    cooling.density_kg_m3 = row.number("water_kg_m3");
    cooling.bulk_modulus_pa = row.number("water_modulus_pa");
    cooling.acoustics.void_fraction = 0.0;
    cooling.acoustics.wall_modulus_pa = f64::INFINITY;
    cooling
}

/// Wood's equation (1930, cited from memory) with water and air from CoolProp. The model's bubbles
/// have gamma 1.4 and 1.19 kg/m3 at 1 bar whatever their temperature: real air's modulus is up to
/// 0.3 % higher, and the speed goes with its root; at a void of 0.9 and 90 C the lighter real gas
/// adds 0.1 %. So 0.3 %.
#[test]
fn bubbles_slow_sound_as_wood_says() {
    let (mut clear, mut bubbly) = (Worst::default(), Worst::default());
    for row in Table::read("bubbly_sound").rows() {
        let (void, pressure) = (row.number("void_share"), row.number("pressure_pa"));
        let mut cooling = water(row);
        cooling.acoustics.void_fraction = void;
        let worst = if void == 0.0 { &mut clear } else { &mut bubbly };
        let place = format!("void {void} at {} C", row.word("temperature_c"));
        worst.relative(
            wave_speed(&cooling, pressure),
            row.number("speed_m_s"),
            place,
        );
    }
    clear.within(1e-10, "sound: clear water");
    bubbly.within(3e-3, "sound: water with bubbles");
}

/// Sound is slowest at a void near one half: of `a/K_g + (1-a)/K_l` times `a rho_g + (1-a) rho_l`
/// the two large parts are `a/K_g` and `(1-a) rho_l`, whose product is largest at 0.5 (CoolProp:
/// 0.500 to 0.501).
#[test]
fn sound_is_slowest_at_a_void_of_one_half() {
    let table = Table::read("bubbly_sound");
    let mut cooling = water(table.rows().next().unwrap());
    let mut speed = |percent: u32| {
        cooling.acoustics.void_fraction = f64::from(percent) / 100.0;
        wave_speed(&cooling, 1e5)
    };
    let slowest = (1..100).min_by(|a, b| speed(*a).total_cmp(&speed(*b)));
    assert_eq!(slowest, Some(50));
    assert!((speed(50) - 23.7).abs() < 0.1, "{}", speed(50));
}

/// Korteweg's wave speed (1878; Wylie and Streeter, cited from memory): the same formula, 1e-10.
/// What it leaves out is held in sight: against Lame's thick tube it reads 14 % high for a radiator
/// hose, 5 % at most for a pipe or a casting, so that hoses belong to the lumped compliances and
/// not here.
#[test]
fn walls_slow_sound_as_korteweg_says() {
    let mut thin = Worst::default();
    for row in Table::read("wall_sound").rows() {
        let mut cooling = water(row);
        cooling.acoustics.bore_m = row.number("bore_m");
        cooling.acoustics.wall_m = row.number("wall_m");
        cooling.acoustics.wall_modulus_pa = row.number("elasticity_pa");
        let (what, speed) = (row.word("what"), wave_speed(&cooling, 1e5));
        thin.relative(speed, row.number("thin_m_s"), what);
        let over = speed / row.number("thick_m_s") - 1.0;
        let expected = if what == "hose" {
            0.13..0.15
        } else {
            0.0..0.055
        };
        assert!(expected.contains(&over), "{what}: {over}");
    }
    thin.within(1e-10, "sound: elastic walls");
}

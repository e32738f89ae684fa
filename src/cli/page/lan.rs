//! `--lan`: the page for a phone in the same network, at one address of this computer, and its link for the phone's camera.
use super::super::failure::Failure;
use qrcodegen::{QrCode, QrCodeEcc};
use std::net::{IpAddr, Ipv4Addr, UdpSocket};

/// What is said before the link.
pub const WARNING: &str = "Mind: nothing is encrypted. Whoever is in this network and has the link can see
the photo and write the dial file. Use it at home, not in a public network. The
first device that opens the page keeps it. It ends when the dial file is
written, after an hour, or with Ctrl-C.";

/// The address to listen at: as typed, else the one by which this computer reaches its network. Only one of a network of one's own
/// (RFC 1918, RFC 3927, loopback): at any other the whole internet could come by.
pub fn address(typed: &str) -> Result<IpAddr, Failure> {
    let own = match typed {
        "" => found().ok_or_else(|| Failure::trouble("This computer's address in the network is not known. Give it: --lan=192.168.1.5"))?,
        text => text.parse().map_err(|_| Failure::trouble(format!("\"{text}\" is no address; write it like --lan=192.168.1.5")))?,
    };
    if own.is_private() || own.is_link_local() || own.is_loopback() {
        return Ok(IpAddr::V4(own));
    }
    Err(Failure::trouble(format!("{own} is no address of a network of your own, so the page is not served there. Use it without --lan.")))
}

/// No packet is sent: the system only says from where it would go to an address that is kept for documents (RFC 5737).
fn found() -> Option<Ipv4Addr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    match socket.local_addr().ok()?.ip() {
        IpAddr::V4(own) if !own.is_unspecified() => Some(own),
        _ => None,
    }
}

/// Light modules round the code (ISO/IEC 18004 asks for four).
const QUIET: i32 = 4;

/// The link as a QR code, two rows of modules to a line; black on white whatever the terminal's colours. `None` for a text too long for one.
pub fn code(link: &str) -> Option<String> {
    let code = QrCode::encode_text(link, QrCodeEcc::Low).ok()?;
    let places = -QUIET..code.size() + QUIET;
    let sign = |x: i32, y: i32| match (code.get_module(x, y), code.get_module(x, y + 1)) {
        (true, true) => '█',
        (true, false) => '▀',
        (false, true) => '▄',
        (false, false) => ' ',
    };
    let line = |y: i32| format!("\x1b[30;107m{}\x1b[0m\n", places.clone().map(|x| sign(x, y)).collect::<String>());
    Some(places.clone().step_by(2).map(line).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_networks_of_ones_own() {
        for own in ["192.168.1.5", "10.0.0.7", "172.16.3.4", "169.254.1.1", "127.0.0.1"] {
            assert_eq!(address(own).unwrap().to_string(), own);
        }
        for other in ["8.8.8.8", "0.0.0.0", "172.32.0.1", "192.0.2.1", "phone", "::1"] {
            assert!(address(other).is_err(), "{other}");
        }
    }

    /// Size and finder patterns as ISO/IEC 18004 has them (from memory: version v has 17 + 4v modules a side; a finder is 7 x 7 with a
    /// ring and a 3 x 3 middle).
    #[test]
    fn a_link_is_a_code_with_its_quiet_zone() {
        let text = code("http://192.168.178.123:45678/0123456789abcdef0123456789abcdef/").unwrap();
        let rows: Vec<Vec<char>> =
            text.lines().map(|l| l.trim_start_matches("\x1b[30;107m").trim_end_matches("\x1b[0m").chars().collect()).collect();
        let wide = rows[0].len() as i32;
        assert!(
            rows.iter().all(|r| r.len() as i32 == wide) && (wide - 2 * QUIET - 17) % 4 == 0 && wide <= 80 && rows.len() <= 24,
            "{text}"
        );
        let dark = |x: i32, y: i32| match rows[(y + QUIET) as usize / 2][(x + QUIET) as usize] {
            '█' => true,
            '▀' => (y + QUIET) % 2 == 0,
            '▄' => (y + QUIET) % 2 == 1,
            _ => false,
        };
        let far = wide - 2 * QUIET - 7;
        for (left, top) in [(0, 0), (far, 0), (0, far)] {
            for (x, y) in (0..7).flat_map(|y| (0..7).map(move |x| (x, y))) {
                let ring = 3 - (x - 3i32).abs().max((y - 3i32).abs());
                assert_eq!(dark(left + x, top + y), ring != 1, "{left},{top}: {x},{y}");
            }
        }
        assert!((0..wide).all(|x| rows[0][x as usize] == ' ' && rows[1][x as usize] == ' '));
    }
}

//! Photos of every kind a camera or a program writes, broken ones too.

use super::picture::{Opened, Picture};
use super::small;
use base64::Engine;
use png::{BitDepth, ColorType, Info};

const RED: [u8; 3] = [200, 30, 30];
const GREEN: [u8; 3] = [30, 160, 30];
const BLUE: [u8; 3] = [30, 30, 200];
const GREY: [u8; 3] = [120, 120, 120];

fn jpeg_of(photo: &str) -> Vec<u8> {
    let data = photo.strip_prefix("data:image/jpeg;base64,").expect("a JPEG");
    base64::engine::general_purpose::STANDARD.decode(data).expect("base64")
}

/// The picture as it comes out of the page again.
fn shown(file: &[u8]) -> Picture {
    let photo = small(file).expect("a photo");
    let picture =
        Opened::new(&jpeg_of(&photo.data)).and_then(Opened::unpacked).expect("it is read");
    assert_eq!((photo.width as usize, photo.height as usize), (picture.wide, picture.high));
    picture
}

fn assert_near(picture: &Picture, x: usize, y: usize, colour: [u8; 3], says: &str) {
    let at = 3 * (y * picture.wide + x);
    let found = &picture.bytes[at..at + 3];
    let off = found.iter().zip(colour).map(|(a, b)| a.abs_diff(b)).max();
    assert!(off <= Some(9), "{says}: {found:?} at {x}, {y}, not {colour:?}");
}

/// The colour of a quarter of a picture: red and green above, blue and grey below.
fn quarters(wide: usize, high: usize) -> impl Iterator<Item = [u8; 3]> {
    (0..wide * high).map(move |i| match (i % wide < wide / 2, i / wide < high / 2) {
        (true, true) => RED,
        (false, true) => GREEN,
        (true, false) => BLUE,
        (false, false) => GREY,
    })
}

/// An Exif block with nothing but an orientation.
fn exif(orientation: u8, big: bool) -> Vec<u8> {
    if big {
        let head = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0";
        return [head.as_slice(), &[orientation, 0, 0, 0, 0, 0, 0]].concat();
    }
    let head = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0";
    [head.as_slice(), &[orientation, 0, 0, 0, 0, 0, 0, 0]].concat()
}

fn jpeg(wide: u16, high: u16, exif: Option<&[u8]>, progressive: bool) -> Vec<u8> {
    let pixels: Vec<u8> = quarters(wide.into(), high.into()).flatten().collect();
    let mut out = Vec::new();
    let mut encoder = jpeg_encoder::Encoder::new(&mut out, 95);
    encoder.set_progressive(progressive);
    if let Some(exif) = exif {
        let block = [b"Exif\0\0".as_slice(), exif].concat();
        encoder.add_app_segment(1, block).expect("a block");
    }
    encoder.encode(&pixels, wide, high, jpeg_encoder::ColorType::Rgb).expect("a JPEG");
    out
}

fn png(info: Info<'_>, bytes: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    let encoder = png::Encoder::with_info(&mut out, info).expect("a head");
    let mut writer = encoder.write_header().expect("a head");
    writer.write_image_data(bytes).expect("its pixels");
    writer.finish().expect("an end");
    out
}

fn info(wide: u32, high: u32, color_type: ColorType, bit_depth: BitDepth) -> Info<'static> {
    let mut info = Info::with_size(wide, high);
    (info.color_type, info.bit_depth) = (color_type, bit_depth);
    info
}

/// Where the quarters come to lie, left to right and top to bottom, by the eight orientations of
/// Exif: 6 is the camera held upright, its first row on the right.
#[test]
fn a_photo_stands_as_the_camera_was_held() {
    let [a, b, c, d] = [RED, GREEN, BLUE, GREY];
    let stands = [
        [a, b, c, d],
        [b, a, d, c],
        [d, c, b, a],
        [c, d, a, b],
        [a, c, b, d],
        [c, a, d, b],
        [d, b, c, a],
        [b, d, a, c],
    ];
    for (orientation, colours) in (1..).zip(stands) {
        for big in [false, true] {
            let block = exif(orientation, big);
            let mut lies = info(96, 48, ColorType::Rgb, BitDepth::Eight);
            lies.exif_metadata = Some(block.clone().into());
            let pixels: Vec<u8> = quarters(96, 48).flatten().collect();
            for file in [jpeg(96, 48, Some(&block), false), png(lies, &pixels)] {
                let photo = shown(&file);
                let sides = if orientation > 4 { (48, 96) } else { (96, 48) };
                assert_eq!((photo.wide, photo.high), sides, "{orientation}");
                let places = [(1, 1), (3, 1), (1, 3), (3, 3)];
                for ((x, y), colour) in places.into_iter().zip(colours) {
                    let (x, y) = (x * photo.wide / 4, y * photo.high / 4);
                    assert_near(&photo, x, y, colour, &format!("orientation {orientation}"));
                }
            }
        }
    }
    for nonsense in [exif(0, false), exif(9, true), b"II*\0\xff\xff\xff\xff".into(), b"II".into()] {
        let photo = shown(&jpeg(96, 48, Some(&nonsense), false));
        assert_near(&photo, 24, 12, RED, "what is not known turns nothing");
    }
}

#[test]
fn every_kind_of_picture_is_read() {
    let rgb = || quarters(32, 32);
    let grey = |[red, ..]: [u8; 3]| red;
    let doubled = |value: u8| [value, 0x7f];
    let mut palette = info(32, 32, ColorType::Indexed, BitDepth::Two);
    palette.palette = Some([RED, GREEN, BLUE, GREY].concat().into());
    let row = |left: u8, right: u8| [[left; 4], [right; 4]].concat();
    let rows = [row(0, 0b0101_0101).repeat(16), row(0b1010_1010, 0xff).repeat(16)].concat();
    let of = |color_type, depth| info(32, 32, color_type, depth);
    let (eight, sixteen) = (BitDepth::Eight, BitDepth::Sixteen);
    let kinds = [
        ("a progressive JPEG", jpeg(32, 32, None, true)),
        ("RGB", png(of(ColorType::Rgb, eight), &rgb().flatten().collect::<Vec<_>>())),
        (
            "RGB of 16 bits",
            png(
                of(ColorType::Rgb, sixteen),
                &rgb().flatten().flat_map(doubled).collect::<Vec<_>>(),
            ),
        ),
        (
            "RGBA",
            png(
                of(ColorType::Rgba, eight),
                &rgb().flat_map(|[r, g, b]| [r, g, b, 255]).collect::<Vec<_>>(),
            ),
        ),
        ("a palette", png(palette, &rows)),
    ];
    for (kind, file) in &kinds {
        let photo = shown(file);
        for ((x, y), colour) in [((8, 8), RED), ((24, 8), GREEN), ((8, 24), BLUE), ((24, 24), GREY)]
        {
            assert_near(&photo, x, y, colour, kind);
        }
    }
    let greys: Vec<u8> = rgb().map(grey).collect();
    let mut grey_jpeg = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut grey_jpeg, 95);
    encoder.encode(&greys, 32, 32, jpeg_encoder::ColorType::Luma).expect("a JPEG");
    let covered: Vec<u8> = greys.iter().flat_map(|grey| [*grey, 255]).collect();
    let kinds = [
        ("grey", png(of(ColorType::Grayscale, eight), &greys)),
        ("grey that covers", png(of(ColorType::GrayscaleAlpha, eight), &covered)),
        ("a grey JPEG", grey_jpeg),
    ];
    for (kind, file) in &kinds {
        let photo = shown(file);
        assert_near(&photo, 8, 8, [200; 3], kind);
        assert_near(&photo, 24, 24, [120; 3], kind);
    }
    let bits = [0x00, 0xff].repeat(16);
    let bits = shown(&png(info(16, 16, ColorType::Grayscale, BitDepth::One), &bits));
    assert_near(&bits, 4, 4, [0; 3], "one bit");
    assert_near(&bits, 12, 4, [255; 3], "one bit");
    let clear = png(info(1, 1, ColorType::Rgba, eight), &[0, 0, 0, 0]);
    assert_near(&shown(&clear), 0, 0, [255; 3], "what covers nothing is white");
}

/// Ink of four colours is turned into red, green and blue.
#[test]
fn a_jpeg_for_print_is_read() {
    let mut cmyk = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut cmyk, 95);
    let ink: Vec<u8> = [0, 200, 200, 0].repeat(64);
    encoder.encode(&ink, 8, 8, jpeg_encoder::ColorType::Cmyk).expect("a JPEG");
    let photo = shown(&cmyk);
    let [red, green, blue] = [photo.bytes[90], photo.bytes[91], photo.bytes[92]];
    assert!(red > 200 && green < 100 && blue < 100, "{red} {green} {blue}");
}

/// Four pixels, the seven passes of Adam7 written by hand (ISO/IEC 15948, 8.2).
#[test]
fn a_png_that_comes_in_passes_is_read() {
    let passes: [&[u8]; 6] = [&[0], &RED, &[0], &GREEN, &[0], &[BLUE, GREY].concat()];
    let data = passes.concat();
    let mut idat = vec![0x78, 0x01, 0x01, data.len() as u8, 0, !(data.len() as u8), 0xff];
    idat.extend(&data);
    let (low, high) = data.iter().fold((1_u32, 0_u32), |(low, high), byte| {
        let low = (low + u32::from(*byte)) % 65521;
        (low, (high + low) % 65521)
    });
    idat.extend((high << 16 | low).to_be_bytes());
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    let head = [0, 0, 0, 2, 0, 0, 0, 2, 8, 2, 0, 0, 1];
    for (name, body) in [(b"IHDR", head.as_slice()), (b"IDAT", &idat), (b"IEND", &[])] {
        file.extend((body.len() as u32).to_be_bytes());
        let chunk = [name.as_slice(), body].concat();
        file.extend(&chunk);
        file.extend(crc(&chunk).to_be_bytes());
    }
    let photo = Opened::new(&file).and_then(Opened::unpacked).expect("it is read");
    assert_eq!(photo.bytes, [RED, GREEN, BLUE, GREY].concat());
    assert!(small(&file).is_ok());
}

/// The check sum of a part of a PNG (ISO/IEC 15948, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |s, _| {
            (s >> 1) ^ if s & 1 == 1 { 0xEDB8_8320 } else { 0 }
        })
    })
}

#[test]
fn what_is_too_large_is_told_before_it_is_unpacked() {
    let head = |color_type: ColorType, wide: u32, high: u32| {
        let pixel = vec![0; color_type.samples()];
        let mut file = png(info(1, 1, color_type, BitDepth::Eight), &pixel);
        file[16..20].copy_from_slice(&wide.to_be_bytes());
        file[20..24].copy_from_slice(&high.to_be_bytes());
        let sum = crc(&file[12..29]);
        file[29..33].copy_from_slice(&sum.to_be_bytes());
        small(&file).map(|_| ()).expect_err("refused")
    };
    assert_eq!(
        head(ColorType::Rgb, 20_001, 1),
        "it has 20001 x 1 pixels; the most is 20000 a side"
    );
    assert_eq!(
        head(ColorType::Grayscale, 8001, 8000),
        "it has 8001 x 8000 pixels; the most is 64 million"
    );
    let roomy = head(ColorType::Rgba, 8000, 8000);
    assert_eq!(roomy, "memory limit exceeded; JPEG and PNG can be shown");
    // Read to its end, one of so many pixels is cut off; pass by pass there is no room for it.
    let sides = |progressive| {
        let mut file = jpeg(16, 16, None, progressive);
        let frame = [0xff, if progressive { 0xc2 } else { 0xc0 }, 0];
        let at = file.windows(3).position(|bytes| bytes == frame).expect("a frame");
        file[at + 5..at + 9]
            .copy_from_slice(&[6000_u16.to_be_bytes(), 5000_u16.to_be_bytes()].concat());
        small(&file).map(|_| ()).err().unwrap_or_default()
    };
    assert!(!sides(false).starts_with("memory limit exceeded"));
    assert!(sides(true).starts_with("memory limit exceeded"));
    for file in [&b"GIF89a"[..], b"", b"\xff\xd8", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"] {
        let says = small(file).map(|_| ()).expect_err("refused");
        assert!(says.ends_with("; JPEG and PNG can be shown"), "{says}");
    }
}

/// Where it was taken and whose camera it was is nobody's business who gets the page.
#[test]
fn nothing_of_the_file_but_its_pixels_reaches_the_page() {
    let block = [exif(1, false).as_slice(), b"Private place"].concat();
    let mut file = jpeg(16, 16, Some(&block), false);
    // A profile of colours, and a comment.
    let profile = b"\xff\xe2\0\x1cICC_PROFILE\0\x01\x01Private tone";
    let comment = b"\xff\xfe\0\x0fPrivate words";
    file.splice(2..2, [profile.as_slice(), comment].concat());
    assert!(file.windows(7).filter(|w| *w == b"Private").count() == 3);
    let jpeg = jpeg_of(&small(&file).expect("a photo").data);
    for part in [&b"Private"[..], b"Exif", b"ICC_PROFILE"] {
        assert!(!jpeg.windows(part.len()).any(|w| w == part), "{part:?}");
    }
}

/// A file that breaks off, or in which bytes were changed, is read or refused with words.
#[test]
fn a_broken_file_is_refused_or_read() {
    let pixels: Vec<u8> = quarters(40, 30).flatten().collect();
    let files = [
        jpeg(40, 30, Some(&exif(6, true)), false),
        jpeg(40, 30, Some(&exif(6, true)), true),
        png(info(40, 30, ColorType::Rgb, BitDepth::Eight), &pixels),
    ];
    let mut seed = 7_u64;
    let mut dice = |sides: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % sides
    };
    for file in &files {
        for end in (0..file.len()).step_by(3) {
            let _ = small(&file[..end]);
        }
        for _ in 0..BROKEN {
            let mut file = file.clone();
            for _ in 0..=dice(4) {
                let at = dice(file.len());
                file[at] = dice(256) as u8;
            }
            let _ = small(&file);
        }
    }
}

/// Files broken at random, of each kind.
const BROKEN: usize = 400;

//! Pictures for the tests that want one.

/// A PNG of so many pixels, each red, green and blue as told for its place.
pub fn png(wide: u32, high: u32, pixel: impl Fn(u32, u32) -> [u8; 3]) -> Vec<u8> {
    let row = |y| (0..wide).flat_map(move |x| [(x, y)]);
    let bytes: Vec<u8> = (0..high).flat_map(row).flat_map(|(x, y)| pixel(x, y)).collect();
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, wide, high);
    encoder.set_color(png::ColorType::Rgb);
    let mut writer = encoder.write_header().expect("a head");
    writer.write_image_data(&bytes).expect("its pixels");
    writer.finish().expect("an end");
    out
}

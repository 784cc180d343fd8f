//! A mesh written as a binary STL file, in millimetres.

use super::Mesh;

/// Bytes before the count of triangles.
const HEAD: usize = 80;

impl Mesh {
    /// As a binary STL file in millimetres, with these words at its head (80 bytes of them).
    pub fn stl(&self, head: &str) -> Vec<u8> {
        let mut out = Vec::with_capacity(HEAD + 4 + 50 * self.triangles.len());
        let mut words: Vec<u8> = head.bytes().take(HEAD).collect();
        words.resize(HEAD, b' ');
        out.extend(words);
        out.extend((self.triangles.len() as u32).to_le_bytes());
        for triangle in &self.triangles {
            let corners = triangle.map(|i| self.vertices[i as usize].map(|v| v * 1e3));
            let normal = normal(&corners);
            let values = normal.iter().chain(corners.iter().flatten());
            out.extend(values.flat_map(|v| (*v as f32).to_le_bytes()));
            out.extend([0, 0]);
        }
        out
    }
}

/// Square to a triangle and one long; nought where it has no area.
fn normal([a, b, c]: &[[f64; 3]; 3]) -> [f64; 3] {
    let (u, v) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
    let cross = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    let long = cross.iter().map(|x| x * x).sum::<f64>().sqrt();
    if long > 0.0 { cross.map(|x| x / long) } else { [0.0; 3] }
}

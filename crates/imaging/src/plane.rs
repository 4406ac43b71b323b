//! A rectangle of values in row order.

/// A plane of `width` x `height` values, row by row from the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Plane<T> {
    width: usize,
    height: usize,
    data: Vec<T>,
}

impl<T: Copy> Plane<T> {
    /// A plane filled with one value.
    pub fn filled(width: usize, height: usize, value: T) -> Self {
        Plane { width, height, data: vec![value; width * height] }
    }

    /// A plane from its values; none if their number is not `width * height`.
    pub fn from_vec(width: usize, height: usize, data: Vec<T>) -> Option<Self> {
        (data.len() == width * height).then_some(Plane { width, height, data })
    }

    /// A plane whose value at (x, y) is `f(x, y)`.
    pub fn from_fn(width: usize, height: usize, mut f: impl FnMut(usize, usize) -> T) -> Self {
        let mut data = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                data.push(f(x, y));
            }
        }
        Plane { width, height, data }
    }

    /// Number of columns.
    pub const fn width(&self) -> usize {
        self.width
    }

    /// Number of rows.
    pub const fn height(&self) -> usize {
        self.height
    }

    /// The value at (x, y), which must lie inside.
    #[inline]
    pub fn at(&self, x: usize, y: usize) -> T {
        self.data[y * self.width + x]
    }

    /// Sets the value at (x, y), which must lie inside.
    #[inline]
    pub fn set(&mut self, x: usize, y: usize, value: T) {
        self.data[y * self.width + x] = value;
    }

    /// The value at (x, y), or none outside.
    pub fn get(&self, x: isize, y: isize) -> Option<T> {
        let (x, y) = (usize::try_from(x).ok()?, usize::try_from(y).ok()?);
        (x < self.width && y < self.height).then(|| self.at(x, y))
    }

    /// Row `y`.
    #[inline]
    pub fn row(&self, y: usize) -> &[T] {
        &self.data[y * self.width..(y + 1) * self.width]
    }

    /// Row `y`, to be changed.
    #[inline]
    pub fn row_mut(&mut self, y: usize) -> &mut [T] {
        &mut self.data[y * self.width..(y + 1) * self.width]
    }

    /// All values, row by row.
    pub fn data(&self) -> &[T] {
        &self.data
    }

    /// All values, to be changed.
    pub fn data_mut(&mut self) -> &mut [T] {
        &mut self.data
    }

    /// A plane of `f(value)`.
    pub fn map<U: Copy>(&self, f: impl Fn(T) -> U) -> Plane<U> {
        Plane { width: self.width, height: self.height, data: self.data.iter().map(|&v| f(v)).collect() }
    }
}

impl Plane<f32> {
    /// Means over `width` x `height` blocks of `factor` x `factor` pixels, the first at pixel (0, 0); what of a block lies
    /// beyond the border counts as 0.
    pub fn shrunk(&self, factor: usize, width: usize, height: usize) -> Plane<f32> {
        let norm = 1.0 / (factor * factor) as f32;
        let mut sums = vec![0.0f32; (width * factor).min(self.width)];
        let mut data = Vec::with_capacity(width * height);
        for y in 0..height {
            sums.fill(0.0);
            // Columns before blocks, because this loop runs on whole vectors.
            for row in y * factor..((y + 1) * factor).min(self.height) {
                sums.iter_mut().zip(self.row(row)).for_each(|(sum, v)| *sum += v);
            }
            data.extend(sums.chunks(factor).map(|block| block.iter().sum::<f32>() * norm));
        }
        Plane { width, height, data }
    }

    /// Bilinear value at (x, y); values beyond the border are those of the border.
    #[inline]
    pub fn sample(&self, x: f64, y: f64) -> f32 {
        let x = x.clamp(0.0, (self.width - 1) as f64);
        let y = y.clamp(0.0, (self.height - 1) as f64);
        // By way of 32 bit, which takes a fraction of the instructions.
        let (x0, y0) = (x as u32, y as u32);
        let (fx, fy) = ((x - f64::from(x0)) as f32, (y - f64::from(y0)) as f32);
        let (x0, y0) = (x0 as usize, y0 as usize);
        let (x1, y1) = ((x0 + 1).min(self.width - 1), (y0 + 1).min(self.height - 1));
        let top = self.at(x0, y0) * (1.0 - fx) + self.at(x1, y0) * fx;
        let bottom = self.at(x0, y1) * (1.0 - fx) + self.at(x1, y1) * fx;
        top * (1.0 - fy) + bottom * fy
    }
}

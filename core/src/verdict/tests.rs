#[cfg(test)]
mod x {}

//! Compiles the markup once, into the library.

fn main() {
    let config = slint_build::CompilerConfiguration::new()
        .with_style("fluent".into())
        .with_debug_info(true);
    if let Err(error) = slint_build::compile_with_config("ui/app.slint", config) {
        panic!("the markup does not compile: {error}");
    }
}

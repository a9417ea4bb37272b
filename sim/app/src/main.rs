fn main() { let _ = bevy::app::App::new(); }

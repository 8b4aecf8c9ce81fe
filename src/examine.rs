//! The main job: photo files → measurements → a reading.

"""What is laid: cable, segments, terminators, repeaters, shield and earth, distance from other cables."""

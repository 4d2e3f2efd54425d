"""What saw, mill, bench and welder need to know, as data; the paper it is printed on is made in `drawing/`."""

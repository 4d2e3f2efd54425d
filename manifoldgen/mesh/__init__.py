"""Triangle meshes as plain arrays, without the CAD kernel."""

"""Parameters laid out in the bench frame: one frozen `Manifold` that everything is read off."""

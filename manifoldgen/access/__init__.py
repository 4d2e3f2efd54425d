"""Room for hands: tools on studs, torches on welds, and the way off the engine; numbers only."""

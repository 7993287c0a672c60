"""What a graph ends in: pictures, coded planes, smaller pictures."""

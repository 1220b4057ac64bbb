"""What the lathe asks of every link between blank and faceplate."""

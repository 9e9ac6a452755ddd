"""Sound to text: sources of 16 kHz PCM, speech detection, and recognisers behind one protocol."""

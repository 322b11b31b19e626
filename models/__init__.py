"""How the field model is made: speech, noise, adaptation."""

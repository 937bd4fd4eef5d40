"""What is heard at the wall: tones as samples, when they are due, and the loudspeaker."""

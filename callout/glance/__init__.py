"""The glance page: what a session looks like from two metres, and a phone as its headset."""

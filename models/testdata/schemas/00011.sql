UPDATE shop SET language = 'de';

DROP TABLE feed_key;

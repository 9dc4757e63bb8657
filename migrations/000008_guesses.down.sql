DROP TABLE wrong_code;
ALTER TABLE tablet DROP COLUMN used_at;
DROP TABLE known_device;

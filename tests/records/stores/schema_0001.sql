BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE customer (
	id INTEGER NOT NULL, 
	uuid VARCHAR(36) NOT NULL, 
	name TEXT DEFAULT '' NOT NULL, 
	contact TEXT DEFAULT '' NOT NULL, 
	version INTEGER NOT NULL, 
	created VARCHAR(27) NOT NULL, 
	changed VARCHAR(27) NOT NULL, 
	erased VARCHAR(27), 
	CONSTRAINT pk_customer PRIMARY KEY (id), 
	CONSTRAINT uq_customer_uuid UNIQUE (uuid)
);
INSERT INTO "customer" VALUES(1,'cbe57f08-f64c-495b-ae02-50d5448435c0','Ida Invented','ida@example.invalid',1,'2026-05-31T08:30:00.000000Z','2026-05-31T08:30:00.000000Z',NULL);
CREATE TABLE job (
	id INTEGER NOT NULL, 
	uuid VARCHAR(36) NOT NULL, 
	title TEXT DEFAULT '' NOT NULL, 
	piece TEXT DEFAULT '' NOT NULL, 
	customer_id INTEGER, 
	state VARCHAR(8) NOT NULL, 
	colour_name TEXT DEFAULT '' NOT NULL, 
	colour_hex TEXT DEFAULT '' NOT NULL, 
	search TEXT DEFAULT '' NOT NULL, 
	version INTEGER NOT NULL, 
	created VARCHAR(27) NOT NULL, 
	changed VARCHAR(27) NOT NULL, 
	CONSTRAINT pk_job PRIMARY KEY (id), 
	CONSTRAINT uq_job_uuid UNIQUE (uuid), 
	CONSTRAINT fk_job_customer_id FOREIGN KEY(customer_id) REFERENCES customer (id), 
	CONSTRAINT ck_job_state CHECK (state IN ('open', 'done', 'archived'))
);
INSERT INTO "job" VALUES(1,'0647597a-8980-4679-a0fa-f79523b38c85','Linen cupboard in green','from the attic',1,'open','vivid yellow-green','#94aa35','linen cupboard in green
from the attic
ida invented
vivid yellow-green
#94aa35
brown finish',2,'2026-05-31T08:30:00.000000Z','2026-05-31T08:30:00.000000Z');
INSERT INTO "job" VALUES(2,'2f94bc21-29df-4076-b3e7-789e446da085','Second cupboard','from the attic',NULL,'archived','vivid yellow-green','#94aa35','second cupboard
from the attic
vivid yellow-green
#94aa35
brown finish',2,'2026-05-31T08:30:00.000000Z','2026-05-31T08:30:00.000000Z');
CREATE TABLE job_photo (
	job_id INTEGER NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	name TEXT DEFAULT '' NOT NULL, 
	added VARCHAR(27) NOT NULL, 
	CONSTRAINT pk_job_photo PRIMARY KEY (job_id, sha256), 
	CONSTRAINT fk_job_photo_job_id FOREIGN KEY(job_id) REFERENCES job (id), 
	CONSTRAINT fk_job_photo_sha256 FOREIGN KEY(sha256) REFERENCES photo (sha256)
);
INSERT INTO "job_photo" VALUES(1,'8d6e3c0a34a20d4facfab94e33eb74990da502f11f3122f50f2b613c47b360a7','chip','2026-05-31T08:30:00.000000Z');
CREATE TABLE job_version (
	job_id INTEGER NOT NULL, 
	version INTEGER NOT NULL, 
	job TEXT NOT NULL, 
	piece TEXT DEFAULT '' NOT NULL, 
	state VARCHAR(8) NOT NULL, 
	saved VARCHAR(27) NOT NULL, 
	CONSTRAINT pk_job_version PRIMARY KEY (job_id, version), 
	CONSTRAINT fk_job_version_job_id FOREIGN KEY(job_id) REFERENCES job (id)
);
INSERT INTO "job_version" VALUES(1,1,'{"title":"Linen cupboard, two doors","topcoat":{"colour":{"lab":[66,-24,55]},"volume_solids":0.38},"surface":[{"name":"brown finish","colour":{"lab":[38,12,20]},"ground":"varnish"}],"application":{"tool":"spray","wet_film_um":45},"days":{"zone":"Europe/Berlin","start":"2026-06-01"}}','from the attic','open','2026-05-31T08:30:00.000000Z');
INSERT INTO "job_version" VALUES(1,2,'{"title":"Linen cupboard in green","topcoat":{"colour":{"lab":[66,-24,55]},"volume_solids":0.38},"surface":[{"name":"brown finish","colour":{"lab":[38,12,20]},"ground":"varnish"}],"application":{"tool":"spray","wet_film_um":45},"days":{"zone":"Europe/Berlin","start":"2026-06-01"}}','from the attic','open','2026-05-31T08:30:00.000000Z');
INSERT INTO "job_version" VALUES(2,1,'{"title":"Second cupboard","topcoat":{"colour":{"lab":[66,-24,55]},"volume_solids":0.38},"surface":[{"name":"brown finish","colour":{"lab":[38,12,20]},"ground":"varnish"}],"application":{"tool":"spray","wet_film_um":45},"days":{"zone":"Europe/Berlin","start":"2026-06-01"}}','from the attic','open','2026-05-31T08:30:00.000000Z');
INSERT INTO "job_version" VALUES(2,2,'{"title":"Second cupboard","topcoat":{"colour":{"lab":[66,-24,55]},"volume_solids":0.38},"surface":[{"name":"brown finish","colour":{"lab":[38,12,20]},"ground":"varnish"}],"application":{"tool":"spray","wet_film_um":45},"days":{"zone":"Europe/Berlin","start":"2026-06-01"}}','from the attic','archived','2026-05-31T08:30:00.000000Z');
CREATE TABLE paint (
	id INTEGER NOT NULL, 
	uuid VARCHAR(36) NOT NULL, 
	name TEXT NOT NULL, 
	topcoat TEXT NOT NULL, 
	batch TEXT DEFAULT '' NOT NULL, 
	density_g_ml FLOAT, 
	size_ml FLOAT, 
	left_ml FLOAT, 
	price_minor INTEGER, 
	currency VARCHAR(3), 
	opened VARCHAR(10), 
	version INTEGER NOT NULL, 
	created VARCHAR(27) NOT NULL, 
	changed VARCHAR(27) NOT NULL, 
	archived VARCHAR(27), 
	CONSTRAINT pk_paint PRIMARY KEY (id), 
	CONSTRAINT uq_paint_uuid UNIQUE (uuid)
);
INSERT INTO "paint" VALUES(1,'83fb48a1-e6db-4485-ac6e-cb3392a5884d','green','{"colour":{"lab":[66,-24,55]},"volume_solids":0.38}','B 7',NULL,NULL,400.0,2100,'EUR',NULL,1,'2026-05-31T08:30:00.000000Z','2026-05-31T08:30:00.000000Z',NULL);
CREATE TABLE photo (
	sha256 VARCHAR(64) NOT NULL, 
	width INTEGER NOT NULL, 
	height INTEGER NOT NULL, 
	content BLOB NOT NULL, 
	created VARCHAR(27) NOT NULL, 
	CONSTRAINT pk_photo PRIMARY KEY (sha256)
);
INSERT INTO "photo" VALUES('8d6e3c0a34a20d4facfab94e33eb74990da502f11f3122f50f2b613c47b360a7',16,16,X'89504E470D0A1A0A0000000D4948445200000010000000100802000000909168360000001949444154789C635CBCC3878114C04492EA510DA31A8694060040D401C76F2A77410000000049454E44AE426082','2026-05-31T08:30:00.000000Z');
CREATE INDEX ix_job_changed ON job (changed);
CREATE INDEX ix_job_customer_id ON job (customer_id);
CREATE INDEX ix_job_photo_sha256 ON job_photo (sha256);
COMMIT;

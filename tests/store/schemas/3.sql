BEGIN TRANSACTION;
CREATE TABLE athlete (
	id VARCHAR(32) NOT NULL, 
	name VARCHAR NOT NULL, 
	name_key VARCHAR NOT NULL, 
	stance VARCHAR NOT NULL, 
	age_group VARCHAR NOT NULL, 
	born_year INTEGER, 
	consent_on DATE, 
	consent_by VARCHAR, 
	note TEXT NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (name_key)
);
INSERT INTO "athlete" VALUES('11111111111111111111111111111111','Ines Halloran','ines halloran','orthodox','adult',NULL,NULL,NULL,'Warm up slowly.');
INSERT INTO "athlete" VALUES('22222222222222222222222222222222','Juno Pettigrew','juno pettigrew','southpaw','under 18',2011,'2026-01-10','mother','');
CREATE TABLE body_mass (
	athlete_id VARCHAR(32) NOT NULL, 
	weighed_on DATE NOT NULL, 
	mass_kg FLOAT NOT NULL, 
	PRIMARY KEY (athlete_id, weighed_on), 
	FOREIGN KEY(athlete_id) REFERENCES athlete (id)
);
INSERT INTO "body_mass" VALUES('11111111111111111111111111111111','2026-01-05',63.2);
INSERT INTO "body_mass" VALUES('11111111111111111111111111111111','2026-02-05',62.8);
CREATE TABLE care (
	athlete_id VARCHAR(32) NOT NULL, 
	care VARCHAR NOT NULL, 
	PRIMARY KEY (athlete_id, care), 
	FOREIGN KEY(athlete_id) REFERENCES athlete (id)
);
INSERT INTO "care" VALUES('11111111111111111111111111111111','wrist');
CREATE TABLE closed_turn (
	session_id VARCHAR(32) NOT NULL, 
	turn INTEGER NOT NULL, 
	athlete_id VARCHAR(32) NOT NULL, 
	exercise VARCHAR NOT NULL, 
	why VARCHAR NOT NULL, 
	closed_at DATETIME NOT NULL, 
	PRIMARY KEY (session_id, turn), 
	FOREIGN KEY(session_id) REFERENCES session (id), 
	FOREIGN KEY(athlete_id) REFERENCES athlete (id)
);
INSERT INTO "closed_turn" VALUES('00000000000000000000000000000001',3,'22222222222222222222222222222222','lead-hook','pain','2026-03-01 17:30:00.000000');
CREATE TABLE cue (
	session_id VARCHAR NOT NULL, 
	given_at DATETIME NOT NULL, 
	athlete_id VARCHAR NOT NULL, 
	cue VARCHAR NOT NULL, 
	turn INTEGER NOT NULL, 
	PRIMARY KEY (session_id, given_at, athlete_id, cue), 
	FOREIGN KEY(session_id) REFERENCES session (id), 
	FOREIGN KEY(athlete_id) REFERENCES athlete (id)
);
INSERT INTO "cue" VALUES('00000000000000000000000000000001','2026-03-01 17:30:00.000000','11111111111111111111111111111111','hip first',1);
CREATE TABLE measure (
	rep_id INTEGER NOT NULL, 
	name VARCHAR NOT NULL, 
	place INTEGER NOT NULL, 
	version INTEGER NOT NULL, 
	value FLOAT, 
	unit VARCHAR NOT NULL, 
	u_own FLOAT, 
	u_common FLOAT, 
	certificate VARCHAR, 
	dof FLOAT, 
	coverage FLOAT NOT NULL, 
	status VARCHAR NOT NULL, 
	reason VARCHAR NOT NULL, 
	PRIMARY KEY (rep_id, name), 
	FOREIGN KEY(rep_id) REFERENCES rep (id)
)
 WITHOUT ROWID

;
INSERT INTO "measure" VALUES(1,'peak_force',1,1,800.0,'N',2.0,3.0,'abc',17.0,2.11,'ok','');
INSERT INTO "measure" VALUES(1,'rfd_100',2,1,900.0,'N/s',90.0,9.0,NULL,NULL,2.0,'coarse','Few.');
INSERT INTO "measure" VALUES(2,'peak_force',1,1,NULL,'N',NULL,NULL,'abc',17.0,2.11,'withheld','Not seen.');
INSERT INTO "measure" VALUES(2,'rfd_100',2,1,900.0,'N/s',90.0,9.0,NULL,NULL,2.0,'coarse','Few.');
CREATE TABLE membership (
	group_id INTEGER NOT NULL, 
	athlete_id VARCHAR(32) NOT NULL, 
	PRIMARY KEY (group_id, athlete_id), 
	FOREIGN KEY(group_id) REFERENCES training_group (id), 
	FOREIGN KEY(athlete_id) REFERENCES athlete (id)
);
INSERT INTO "membership" VALUES(1,'11111111111111111111111111111111');
CREATE TABLE own_exercise (
	"key" VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	way VARCHAR NOT NULL, 
	side VARCHAR, 
	arm VARCHAR, 
	PRIMARY KEY ("key")
);
INSERT INTO "own_exercise" VALUES('towel-hold','towel hold','timed',NULL,NULL);
CREATE TABLE rep (
	id INTEGER NOT NULL, 
	session_id VARCHAR(32) NOT NULL, 
	turn INTEGER NOT NULL, 
	attempt INTEGER NOT NULL, 
	athlete_id VARCHAR(32) NOT NULL, 
	exercise VARCHAR NOT NULL, 
	hand VARCHAR, 
	stance VARCHAR, 
	setup_key VARCHAR, 
	set_number INTEGER NOT NULL, 
	rep_number INTEGER NOT NULL, 
	effort VARCHAR NOT NULL, 
	hold_s FLOAT, 
	"band_low_N" FLOAT, 
	"band_high_N" FLOAT, 
	way VARCHAR NOT NULL, 
	is_kept BOOLEAN NOT NULL, 
	rise VARCHAR NOT NULL, 
	hold VARCHAR NOT NULL, 
	faults VARCHAR NOT NULL, 
	sentence TEXT NOT NULL, 
	detail TEXT NOT NULL, 
	cue VARCHAR NOT NULL, 
	certificate VARCHAR, 
	recording VARCHAR, 
	start_s FLOAT, 
	end_s FLOAT, 
	go_s FLOAT, 
	ended_at DATETIME NOT NULL, 
	"peak_N" FLOAT, 
	PRIMARY KEY (id), 
	CONSTRAINT one_row_an_attempt UNIQUE (session_id, turn, attempt), 
	CONSTRAINT counted_from_one CHECK (turn >= 1 AND attempt >= 1), 
	FOREIGN KEY(session_id) REFERENCES session (id), 
	FOREIGN KEY(athlete_id) REFERENCES athlete (id), 
	FOREIGN KEY(setup_key) REFERENCES rig_setup ("key")
);
INSERT INTO "rep" VALUES(1,'00000000000000000000000000000001',1,1,'11111111111111111111111111111111','rear-straight','right','orthodox','fc0dcc33cd8976ec',1,1,'maximal',3.0,NULL,NULL,'measured',1,'snap','sagging','sagging,over range','Keep it stiff to the end.','It fell by 7 % a second.','hip first','abc','2026-03-01.jsonl',12.5,16.0,12.3,'2026-03-01 17:31:01.123456',800.0);
INSERT INTO "rep" VALUES(2,'00000000000000000000000000000001',2,1,'11111111111111111111111111111111','rear-straight','right','orthodox','fc0dcc33cd8976ec',1,2,'maximal',3.0,NULL,NULL,'measured',0,'snap','sagging','sagging,over range','Keep it stiff to the end.','It fell by 7 % a second.','hip first','abc','2026-03-01.jsonl',12.5,16.0,12.3,'2026-03-01 17:31:02.123456',NULL);
CREATE TABLE rig_setup (
	"key" VARCHAR NOT NULL, 
	pad_height_m FLOAT, 
	distance_m FLOAT, 
	pad VARCHAR, 
	cover VARCHAR, 
	fist VARCHAR, 
	elbow_deg FLOAT, 
	feet VARCHAR, 
	PRIMARY KEY ("key")
);
INSERT INTO "rig_setup" VALUES('fc0dcc33cd8976ec',1.4,0.55,'ball','wrap','fist',180.0,'side-on');
CREATE TABLE schema_version (
	version INTEGER NOT NULL, 
	PRIMARY KEY (version)
);
INSERT INTO "schema_version" VALUES(3);
CREATE TABLE session (
	id VARCHAR(32) NOT NULL, 
	"plan" VARCHAR NOT NULL, 
	plan_text TEXT NOT NULL, 
	turns INTEGER NOT NULL, 
	started_at DATETIME NOT NULL, 
	ended_at DATETIME, 
	utc_offset_s INTEGER NOT NULL, 
	training_group VARCHAR NOT NULL, 
	wall VARCHAR NOT NULL, 
	PRIMARY KEY (id)
);
INSERT INTO "session" VALUES('00000000000000000000000000000001','speed-day','name = "speed-day"
',10,'2026-03-01 17:30:00.000000',NULL,3600,'Seniors','left');
CREATE TABLE session_athlete (
	session_id VARCHAR(32) NOT NULL, 
	place INTEGER NOT NULL, 
	athlete_id VARCHAR(32) NOT NULL, 
	PRIMARY KEY (session_id, place), 
	FOREIGN KEY(session_id) REFERENCES session (id), 
	FOREIGN KEY(athlete_id) REFERENCES athlete (id)
);
INSERT INTO "session_athlete" VALUES('00000000000000000000000000000001',1,'22222222222222222222222222222222');
INSERT INTO "session_athlete" VALUES('00000000000000000000000000000001',2,'11111111111111111111111111111111');
CREATE TABLE training_group (
	id INTEGER NOT NULL, 
	name VARCHAR NOT NULL, 
	name_key VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (name_key)
);
INSERT INTO "training_group" VALUES(1,'Seniors','seniors');
CREATE INDEX ix_session_started_at ON session (started_at);
CREATE INDEX ix_membership_athlete_id ON membership (athlete_id);
CREATE INDEX ix_session_athlete_athlete_id ON session_athlete (athlete_id);
CREATE INDEX best ON rep (athlete_id, exercise, hand, setup_key, effort, "peak_N") WHERE "peak_N" IS NOT NULL;
CREATE UNIQUE INDEX one_kept_a_turn ON rep (session_id, turn) WHERE is_kept;
CREATE INDEX alike ON rep (athlete_id, exercise, hand, setup_key, ended_at);
CREATE INDEX of_everybody ON rep (exercise, ended_at);
CREATE INDEX of_one ON rep (athlete_id, ended_at);
CREATE INDEX ix_closed_turn_athlete_id ON closed_turn (athlete_id);
CREATE INDEX ix_cue_athlete_id ON cue (athlete_id);
COMMIT;

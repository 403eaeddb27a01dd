BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0016');
CREATE TABLE attempt (
	id INTEGER NOT NULL, 
	uid VARCHAR NOT NULL, 
	card_id INTEGER NOT NULL, 
	session_id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	zone VARCHAR NOT NULL, 
	day DATE NOT NULL, 
	recall INTEGER NOT NULL, 
	tempo INTEGER NOT NULL, 
	hint INTEGER NOT NULL, 
	seconds FLOAT NOT NULL, 
	loops INTEGER NOT NULL, 
	in_round BOOLEAN NOT NULL, 
	first_of_day BOOLEAN NOT NULL, 
	due_after DATE NOT NULL, 
	undone_at DATETIME, reached INTEGER, utc_offset INTEGER, goal INTEGER, 
	CONSTRAINT pk_attempt PRIMARY KEY (id), 
	CONSTRAINT ck_attempt_hint CHECK (hint BETWEEN 0 AND 3), 
	CONSTRAINT ck_attempt_recall CHECK (recall BETWEEN 1 AND 4), 
	CONSTRAINT ck_attempt_effort CHECK (seconds >= 0 AND loops >= 0), 
	CONSTRAINT ck_attempt_tempo CHECK (tempo BETWEEN 20 AND 400), 
	CONSTRAINT fk_attempt_card_id FOREIGN KEY(card_id) REFERENCES card (id), 
	CONSTRAINT fk_attempt_session_id FOREIGN KEY(session_id) REFERENCES drill_session (id), 
	CONSTRAINT uq_attempt_uid UNIQUE (uid)
);
INSERT INTO "attempt" VALUES(1,'60de74248846436e8e8442499c8297fe',1,1,'2026-03-01 18:00:00.000000','Europe/Lisbon','2026-03-01',1,79,0,30.5,2,0,1,'2026-03-04',NULL,NULL,NULL,132);
INSERT INTO "attempt" VALUES(2,'eeb1963068e8446db2401610fb3986f1',1,1,'2026-03-01 18:01:00.000000','Europe/Lisbon','2026-03-01',2,72,0,30.5,2,0,0,'2026-03-04',NULL,NULL,NULL,132);
INSERT INTO "attempt" VALUES(3,'5db243fdf280495e90b6ea15b4511058',1,1,'2026-03-01 18:02:00.000000','Europe/Lisbon','2026-03-01',3,72,0,30.5,2,0,0,'2026-03-04',NULL,NULL,NULL,132);
INSERT INTO "attempt" VALUES(4,'5b96d73a173d453697bc923f37768239',1,1,'2026-03-01 18:03:00.000000','Europe/Lisbon','2026-03-01',4,72,0,30.5,2,0,0,'2026-03-04',NULL,NULL,NULL,132);
INSERT INTO "attempt" VALUES(5,'23bec24bd1544d0e982e269c56d64758',1,2,'2026-03-04 18:00:00.000000','Europe/Lisbon','2026-03-04',3,79,0,30.5,2,0,1,'2026-03-07',NULL,NULL,NULL,132);
INSERT INTO "attempt" VALUES(6,'0ac3c90109e84ad0a2fc1faf7828ef56',2,2,'2026-03-04 18:00:00.000000','Europe/Lisbon','2026-03-04',3,79,0,30.5,2,0,1,'2026-03-07',NULL,NULL,NULL,132);
INSERT INTO "attempt" VALUES(7,'18f60c4e2c28407cabf095f307771b4f',13,2,'2026-03-04 18:00:00.000000','Europe/Lisbon','2026-03-04',3,79,0,30.5,2,0,1,'2026-03-07','2026-03-04 18:01:00.000000',NULL,NULL,132);
INSERT INTO "attempt" VALUES(8,'03eec5f07f9543a5aa52308983ae4c05',14,2,'2026-03-04 18:00:00.000000','Europe/Lisbon','2026-03-04',3,79,0,30.5,2,0,1,'2026-03-07',NULL,NULL,NULL,132);
INSERT INTO "attempt" VALUES(9,'85279a4e38474912b4fa7b527c961292',3,3,'2026-04-10 18:00:00.000000','Europe/Lisbon','2026-04-10',4,79,0,30.5,2,0,1,'2026-04-13',NULL,79,NULL,132);
INSERT INTO "attempt" VALUES(10,'afa3eb2f3af8450697bf512fbd838693',3,3,'2026-04-10 18:01:00.000000','Europe/Lisbon','2026-04-10',4,86,0,30.5,2,0,0,'2026-04-13',NULL,86,NULL,132);
INSERT INTO "attempt" VALUES(11,'37f286390d654d53916000f4a68c6791',3,3,'2026-04-10 18:02:00.000000','Europe/Lisbon','2026-04-10',4,99,0,30.5,2,0,0,'2026-04-13',NULL,99,NULL,132);
INSERT INTO "attempt" VALUES(12,'3cb205643bf84cd4aa8bb3b9873422ba',3,3,'2026-04-10 18:03:00.000000','Europe/Lisbon','2026-04-10',4,119,0,30.5,2,0,0,'2026-04-13',NULL,119,NULL,132);
INSERT INTO "attempt" VALUES(13,'ec5faa8ffcb742b4a0640ca52413be0d',3,3,'2026-04-10 18:04:00.000000','Europe/Lisbon','2026-04-10',4,132,0,30.5,2,0,0,'2026-04-13',NULL,132,NULL,132);
INSERT INTO "attempt" VALUES(14,'bd320c31650c4220b2f2c8c20c124d32',3,3,'2026-04-11 18:00:00.000000','Europe/Lisbon','2026-04-11',3,132,0,30.5,2,0,1,'2026-04-14',NULL,132,NULL,132);
INSERT INTO "attempt" VALUES(15,'d5436d3dc6a045048a0b322a288e3eeb',3,3,'2026-04-14 18:00:00.000000','Europe/Lisbon','2026-04-14',3,132,0,30.5,2,0,1,'2026-04-17',NULL,132,NULL,132);
INSERT INTO "attempt" VALUES(16,'b2aebfc7ab534421a48fc3df6b8cd4ec',3,3,'2026-04-25 18:00:00.000000','Europe/Lisbon','2026-04-25',3,132,0,30.5,2,0,1,'2026-04-28',NULL,132,NULL,132);
INSERT INTO "attempt" VALUES(17,'d4c5239f05214ba0acccbf8132bdb8c6',3,3,'2026-06-09 18:00:00.000000','Europe/Lisbon','2026-06-09',3,132,0,30.5,2,0,1,'2026-06-12',NULL,132,NULL,132);
INSERT INTO "attempt" VALUES(18,'3a3f1e064d244454ab943fbf275d66cc',4,3,'2026-04-10 19:00:00.000000','Europe/Lisbon','2026-04-10',1,79,0,30.5,2,0,1,'2026-04-13',NULL,79,NULL,132);
INSERT INTO "attempt" VALUES(19,'fb36d531b09d47998e914a6d4f71b27f',4,3,'2026-04-10 19:01:00.000000','Europe/Lisbon','2026-04-10',2,72,0,30.5,2,0,0,'2026-04-13',NULL,72,NULL,132);
INSERT INTO "attempt" VALUES(20,'30770276adfe4aecbf67a84efbda8a11',4,3,'2026-04-10 19:02:00.000000','Europe/Lisbon','2026-04-10',3,72,0,30.5,2,0,0,'2026-04-13',NULL,72,NULL,132);
INSERT INTO "attempt" VALUES(21,'20067f4131504421aaeef74054e1f21e',2,4,'2026-03-31 18:00:00.000000','Europe/Lisbon','2026-03-31',3,86,0,30.5,2,0,1,'2026-04-03',NULL,86,60,132);
INSERT INTO "attempt" VALUES(22,'36127dc9d07a4cbfacad8264bc653fe6',3,6,'2026-07-01 18:00:00.000000','Etc/UTC','2026-07-01',3,132,0,2.37820779220779208182e+01,2,0,1,'2027-12-13',NULL,132,0,171);
CREATE TABLE card (
	id INTEGER NOT NULL, 
	phrase_id INTEGER NOT NULL, 
	"key" VARCHAR NOT NULL, 
	position INTEGER NOT NULL, 
	chart JSON NOT NULL, 
	line JSON NOT NULL, 
	quarters FLOAT NOT NULL, 
	opened_day DATE, 
	stability FLOAT, 
	difficulty FLOAT, 
	last_day DATE, 
	tempo INTEGER NOT NULL, 
	clean_run INTEGER NOT NULL, 
	attempts INTEGER NOT NULL, 
	due_day DATE, 
	note VARCHAR, days_clean INTEGER DEFAULT '0' NOT NULL, days_missed INTEGER DEFAULT '0' NOT NULL, note_at DATETIME, put_aside BOOLEAN DEFAULT 0 NOT NULL, goal_run INTEGER DEFAULT '0' NOT NULL, stride INTEGER DEFAULT '2' NOT NULL, owned BOOLEAN DEFAULT 0 NOT NULL, 
	CONSTRAINT pk_card PRIMARY KEY (id), 
	CONSTRAINT ck_card_opened CHECK ((attempts = 0) = (opened_day IS NULL) AND (attempts = 0) = (due_day IS NULL) AND (attempts = 0) = (last_day IS NULL) AND (attempts = 0) = (stability IS NULL) AND (attempts = 0) = (difficulty IS NULL)), 
	CONSTRAINT ck_card_counts CHECK (attempts >= 0 AND clean_run >= 0), 
	CONSTRAINT ck_card_difficulty CHECK (difficulty BETWEEN 1 AND 10), 
	CONSTRAINT ck_card_position CHECK (position >= 0), 
	CONSTRAINT ck_card_quarters CHECK (quarters > 0), 
	CONSTRAINT ck_card_stability CHECK (stability > 0), 
	CONSTRAINT ck_card_tempo CHECK (tempo BETWEEN 20 AND 400), 
	CONSTRAINT fk_card_phrase_id FOREIGN KEY(phrase_id) REFERENCES phrase (id), 
	CONSTRAINT uq_card_phrase_id_key UNIQUE (phrase_id, "key"), 
	CONSTRAINT uq_card_phrase_id_position UNIQUE (phrase_id, position)
);
INSERT INTO "card" VALUES(1,1,'Bb',0,'{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","2",["Bb","major-seventh"]],["2","2",["G","dominant"],1]]],"meter":"4/4"}','[["0","1","Eb5"],["1","1","D5"],["2","1","C5"],["3","1","A4"],["4","1","Bb4"]]',8.0,'2026-03-01',2.76096546389084185335e+00,6.40211506929683782374e+00,'2026-03-04',92,1,5,'2026-03-07',NULL,1,1,NULL,0,0,5,0);
INSERT INTO "card" VALUES(2,1,'Eb',1,'{"bars":[[["0","2",["F","minor-seventh"]],["2","2",["Bb","dominant"]]],[["0","2",["Eb","major-seventh"]],["2","2",["C","dominant"],1]]],"meter":"4/4"}','[["0","1","Ab5"],["1","1","G5"],["2","1","F5"],["3","1","D5"],["4","1","Eb5"]]',8.0,'2026-03-04',3.62123572628451668715e+01,2.11121423578539513243e+00,'2026-03-31',96,2,2,'2026-04-03','thumb over; ''slowly''',2,0,'2026-03-01 18:20:00.000000',0,0,4,0);
INSERT INTO "card" VALUES(3,1,'Ab',2,'{"bars":[[["0","2",["Bb","minor-seventh"]],["2","2",["Eb","dominant"]]],[["0","2",["Ab","major-seventh"]],["2","2",["F","dominant"],1]]],"meter":"4/4"}','[["0","1","Db5"],["1","1","C5"],["2","1","Bb4"],["3","1","G4"],["4","1","Ab4"]]',8.0,'2026-04-10',2.69513199507837327936e+02,1.0,'2026-07-01',158,6,10,'2027-12-13',NULL,6,0,NULL,0,0,6,0);
INSERT INTO "card" VALUES(4,1,'Db',3,'{"bars":[[["0","2",["Eb","minor-seventh"]],["2","2",["Ab","dominant"]]],[["0","2",["Db","major-seventh"]],["2","2",["Bb","dominant"],1]]],"meter":"4/4"}','[["0","1","Gb5"],["1","1","F5"],["2","1","Eb5"],["3","1","C5"],["4","1","Db5"]]',8.0,'2026-04-10',0.212,6.4133,'2026-04-10',75,0,3,'2026-04-13',NULL,0,1,NULL,0,0,2,0);
INSERT INTO "card" VALUES(5,1,'Gb',4,'{"bars":[[["0","2",["Ab","minor-seventh"]],["2","2",["Db","dominant"]]],[["0","2",["Gb","major-seventh"]],["2","2",["Eb","dominant"],1]]],"meter":"4/4"}','[["0","1","Cb5"],["1","1","Bb4"],["2","1","Ab4"],["3","1","F4"],["4","1","Gb4"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,1,0,2,0);
INSERT INTO "card" VALUES(6,1,'B',5,'{"bars":[[["0","2",["C#","minor-seventh"]],["2","2",["F#","dominant"]]],[["0","2",["B","major-seventh"]],["2","2",["G#","dominant"],1]]],"meter":"4/4"}','[["0","1","E5"],["1","1","D#5"],["2","1","C#5"],["3","1","A#4"],["4","1","B4"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(7,1,'E',6,'{"bars":[[["0","2",["F#","minor-seventh"]],["2","2",["B","dominant"]]],[["0","2",["E","major-seventh"]],["2","2",["C#","dominant"],1]]],"meter":"4/4"}','[["0","1","A5"],["1","1","G#5"],["2","1","F#5"],["3","1","D#5"],["4","1","E5"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(8,1,'A',7,'{"bars":[[["0","2",["B","minor-seventh"]],["2","2",["E","dominant"]]],[["0","2",["A","major-seventh"]],["2","2",["F#","dominant"],1]]],"meter":"4/4"}','[["0","1","D5"],["1","1","C#5"],["2","1","B4"],["3","1","G#4"],["4","1","A4"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(9,1,'D',8,'{"bars":[[["0","2",["E","minor-seventh"]],["2","2",["A","dominant"]]],[["0","2",["D","major-seventh"]],["2","2",["B","dominant"],1]]],"meter":"4/4"}','[["0","1","G5"],["1","1","F#5"],["2","1","E5"],["3","1","C#5"],["4","1","D5"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(10,1,'G',9,'{"bars":[[["0","2",["A","minor-seventh"]],["2","2",["D","dominant"]]],[["0","2",["G","major-seventh"]],["2","2",["E","dominant"],1]]],"meter":"4/4"}','[["0","1","C5"],["1","1","B4"],["2","1","A4"],["3","1","F#4"],["4","1","G4"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(11,1,'C',10,'{"bars":[[["0","2",["D","minor-seventh"]],["2","2",["G","dominant"]]],[["0","2",["C","major-seventh"]],["2","2",["A","dominant"],1]]],"meter":"4/4"}','[["0","1","F5"],["1","1","E5"],["2","1","D5"],["3","1","B4"],["4","1","C5"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(12,1,'F',11,'{"bars":[[["0","2",["G","minor-seventh"]],["2","2",["C","dominant"]]],[["0","2",["F","major-seventh"]],["2","2",["D","dominant"],1]]],"meter":"4/4"}','[["0","1","Bb4"],["1","1","A4"],["2","1","G4"],["3","1","E4"],["4","1","F4"]]',8.0,NULL,NULL,NULL,NULL,103,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(13,2,'Bb',0,'{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","2",["Bb","major-seventh"]],["2","2",["G","dominant"],1]]],"meter":"4/4"}','[["0","1","Eb5"],["1","1","D5"],["2","1","C5"],["3","1","A4"],["4","1","Bb4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(14,2,'Eb',1,'{"bars":[[["0","2",["F","minor-seventh"]],["2","2",["Bb","dominant"]]],[["0","2",["Eb","major-seventh"]],["2","2",["C","dominant"],1]]],"meter":"4/4"}','[["0","1","Ab5"],["1","1","G5"],["2","1","F5"],["3","1","D5"],["4","1","Eb5"]]',8.0,'2026-03-04',2.3065,2.11810397045901588342e+00,'2026-03-04',86,1,1,'2026-03-07',NULL,1,0,NULL,0,0,3,0);
INSERT INTO "card" VALUES(15,2,'Ab',2,'{"bars":[[["0","2",["Bb","minor-seventh"]],["2","2",["Eb","dominant"]]],[["0","2",["Ab","major-seventh"]],["2","2",["F","dominant"],1]]],"meter":"4/4"}','[["0","1","Db5"],["1","1","C5"],["2","1","Bb4"],["3","1","G4"],["4","1","Ab4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(16,2,'Db',3,'{"bars":[[["0","2",["Eb","minor-seventh"]],["2","2",["Ab","dominant"]]],[["0","2",["Db","major-seventh"]],["2","2",["Bb","dominant"],1]]],"meter":"4/4"}','[["0","1","Gb5"],["1","1","F5"],["2","1","Eb5"],["3","1","C5"],["4","1","Db5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(17,2,'Gb',4,'{"bars":[[["0","2",["Ab","minor-seventh"]],["2","2",["Db","dominant"]]],[["0","2",["Gb","major-seventh"]],["2","2",["Eb","dominant"],1]]],"meter":"4/4"}','[["0","1","Cb5"],["1","1","Bb4"],["2","1","Ab4"],["3","1","F4"],["4","1","Gb4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(18,2,'B',5,'{"bars":[[["0","2",["C#","minor-seventh"]],["2","2",["F#","dominant"]]],[["0","2",["B","major-seventh"]],["2","2",["G#","dominant"],1]]],"meter":"4/4"}','[["0","1","E5"],["1","1","D#5"],["2","1","C#5"],["3","1","A#4"],["4","1","B4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(19,2,'E',6,'{"bars":[[["0","2",["F#","minor-seventh"]],["2","2",["B","dominant"]]],[["0","2",["E","major-seventh"]],["2","2",["C#","dominant"],1]]],"meter":"4/4"}','[["0","1","A5"],["1","1","G#5"],["2","1","F#5"],["3","1","D#5"],["4","1","E5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(20,2,'A',7,'{"bars":[[["0","2",["B","minor-seventh"]],["2","2",["E","dominant"]]],[["0","2",["A","major-seventh"]],["2","2",["F#","dominant"],1]]],"meter":"4/4"}','[["0","1","D5"],["1","1","C#5"],["2","1","B4"],["3","1","G#4"],["4","1","A4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(21,2,'D',8,'{"bars":[[["0","2",["E","minor-seventh"]],["2","2",["A","dominant"]]],[["0","2",["D","major-seventh"]],["2","2",["B","dominant"],1]]],"meter":"4/4"}','[["0","1","G5"],["1","1","F#5"],["2","1","E5"],["3","1","C#5"],["4","1","D5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(22,2,'G',9,'{"bars":[[["0","2",["A","minor-seventh"]],["2","2",["D","dominant"]]],[["0","2",["G","major-seventh"]],["2","2",["E","dominant"],1]]],"meter":"4/4"}','[["0","1","C5"],["1","1","B4"],["2","1","A4"],["3","1","F#4"],["4","1","G4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(23,2,'C',10,'{"bars":[[["0","2",["D","minor-seventh"]],["2","2",["G","dominant"]]],[["0","2",["C","major-seventh"]],["2","2",["A","dominant"],1]]],"meter":"4/4"}','[["0","1","F5"],["1","1","E5"],["2","1","D5"],["3","1","B4"],["4","1","C5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(24,2,'F',11,'{"bars":[[["0","2",["G","minor-seventh"]],["2","2",["C","dominant"]]],[["0","2",["F","major-seventh"]],["2","2",["D","dominant"],1]]],"meter":"4/4"}','[["0","1","Bb4"],["1","1","A4"],["2","1","G4"],["3","1","E4"],["4","1","F4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(25,3,'Bb',0,'{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","2",["Bb","major-seventh"]],["2","2",["G","dominant"],1]]],"meter":"4/4"}','[["0","1","Eb5"],["1","1","D5"],["2","1","C5"],["3","1","A4"],["4","1","Bb4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(26,3,'Eb',1,'{"bars":[[["0","2",["F","minor-seventh"]],["2","2",["Bb","dominant"]]],[["0","2",["Eb","major-seventh"]],["2","2",["C","dominant"],1]]],"meter":"4/4"}','[["0","1","Ab5"],["1","1","G5"],["2","1","F5"],["3","1","D5"],["4","1","Eb5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(27,3,'Ab',2,'{"bars":[[["0","2",["Bb","minor-seventh"]],["2","2",["Eb","dominant"]]],[["0","2",["Ab","major-seventh"]],["2","2",["F","dominant"],1]]],"meter":"4/4"}','[["0","1","Db5"],["1","1","C5"],["2","1","Bb4"],["3","1","G4"],["4","1","Ab4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(28,3,'Db',3,'{"bars":[[["0","2",["Eb","minor-seventh"]],["2","2",["Ab","dominant"]]],[["0","2",["Db","major-seventh"]],["2","2",["Bb","dominant"],1]]],"meter":"4/4"}','[["0","1","Gb5"],["1","1","F5"],["2","1","Eb5"],["3","1","C5"],["4","1","Db5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(29,3,'Gb',4,'{"bars":[[["0","2",["Ab","minor-seventh"]],["2","2",["Db","dominant"]]],[["0","2",["Gb","major-seventh"]],["2","2",["Eb","dominant"],1]]],"meter":"4/4"}','[["0","1","Cb5"],["1","1","Bb4"],["2","1","Ab4"],["3","1","F4"],["4","1","Gb4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(30,3,'B',5,'{"bars":[[["0","2",["C#","minor-seventh"]],["2","2",["F#","dominant"]]],[["0","2",["B","major-seventh"]],["2","2",["G#","dominant"],1]]],"meter":"4/4"}','[["0","1","E5"],["1","1","D#5"],["2","1","C#5"],["3","1","A#4"],["4","1","B4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(31,3,'E',6,'{"bars":[[["0","2",["F#","minor-seventh"]],["2","2",["B","dominant"]]],[["0","2",["E","major-seventh"]],["2","2",["C#","dominant"],1]]],"meter":"4/4"}','[["0","1","A5"],["1","1","G#5"],["2","1","F#5"],["3","1","D#5"],["4","1","E5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(32,3,'A',7,'{"bars":[[["0","2",["B","minor-seventh"]],["2","2",["E","dominant"]]],[["0","2",["A","major-seventh"]],["2","2",["F#","dominant"],1]]],"meter":"4/4"}','[["0","1","D5"],["1","1","C#5"],["2","1","B4"],["3","1","G#4"],["4","1","A4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(33,3,'D',8,'{"bars":[[["0","2",["E","minor-seventh"]],["2","2",["A","dominant"]]],[["0","2",["D","major-seventh"]],["2","2",["B","dominant"],1]]],"meter":"4/4"}','[["0","1","G5"],["1","1","F#5"],["2","1","E5"],["3","1","C#5"],["4","1","D5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(34,3,'G',9,'{"bars":[[["0","2",["A","minor-seventh"]],["2","2",["D","dominant"]]],[["0","2",["G","major-seventh"]],["2","2",["E","dominant"],1]]],"meter":"4/4"}','[["0","1","C5"],["1","1","B4"],["2","1","A4"],["3","1","F#4"],["4","1","G4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(35,3,'C',10,'{"bars":[[["0","2",["D","minor-seventh"]],["2","2",["G","dominant"]]],[["0","2",["C","major-seventh"]],["2","2",["A","dominant"],1]]],"meter":"4/4"}','[["0","1","F5"],["1","1","E5"],["2","1","D5"],["3","1","B4"],["4","1","C5"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
INSERT INTO "card" VALUES(36,3,'F',11,'{"bars":[[["0","2",["G","minor-seventh"]],["2","2",["C","dominant"]]],[["0","2",["F","major-seventh"]],["2","2",["D","dominant"],1]]],"meter":"4/4"}','[["0","1","Bb4"],["1","1","A4"],["2","1","G4"],["3","1","E4"],["4","1","F4"]]',8.0,NULL,NULL,NULL,NULL,79,0,0,NULL,NULL,0,0,NULL,0,0,2,0);
CREATE TABLE deleted_gig (
	uid VARCHAR NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_deleted_gig PRIMARY KEY (uid)
);
INSERT INTO "deleted_gig" VALUES('d1809abf75b241ad89dbacaa208477d6','2026-03-01 18:00:00.000000');
CREATE TABLE deleted_phrase (
	uid VARCHAR NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_deleted_phrase PRIMARY KEY (uid)
);
INSERT INTO "deleted_phrase" VALUES('f00dcafef00dcafef00dcafef00dcafe','2026-02-20 10:00:00.000000');
CREATE TABLE deleted_tune (
	uid VARCHAR NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_deleted_tune PRIMARY KEY (uid)
);
INSERT INTO "deleted_tune" VALUES('f98acaad8c134468a3ecc64769198f6f','2026-03-01 18:00:00.000000');
CREATE TABLE drill_session (
	id INTEGER NOT NULL, 
	uid VARCHAR NOT NULL, 
	started_at DATETIME NOT NULL, 
	ended_at DATETIME, 
	minutes INTEGER NOT NULL, 
	zone VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, host VARCHAR, process VARCHAR, ratings INTEGER DEFAULT '0' NOT NULL, 
	CONSTRAINT pk_drill_session PRIMARY KEY (id), 
	CONSTRAINT ck_drill_session_kind CHECK (kind IN ('drill', 'round')), 
	CONSTRAINT ck_drill_session_minutes CHECK (minutes > 0), 
	CONSTRAINT uq_drill_session_uid UNIQUE (uid)
);
INSERT INTO "drill_session" VALUES(1,'51d079e2836c4bb1bb446d0693a66b71','2026-03-01 18:00:00.000000','2026-03-01 18:20:00.000000',20,'Europe/Lisbon','drill',NULL,NULL,4);
INSERT INTO "drill_session" VALUES(2,'366fe12f4b4f4d64b53d14c2b044f57f','2026-03-04 18:00:00.000000',NULL,20,'Europe/Lisbon','drill',NULL,NULL,4);
INSERT INTO "drill_session" VALUES(3,'00a27a0f95044a70ba2a9b902ecb95da','2026-04-10 18:00:00.000000','2026-04-10 20:00:00.000000',20,'Europe/Lisbon','drill',NULL,NULL,12);
INSERT INTO "drill_session" VALUES(4,'c83e831e08e143cea6bac12e63c99574','2026-03-31 18:00:00.000000','2026-03-31 18:20:00.000000',20,'Europe/Lisbon','drill','attic','4702:80120',1);
INSERT INTO "drill_session" VALUES(5,'ca41d9eec785445a8362b85392c0aadd','2026-04-01 18:00:00.000000',NULL,20,'Europe/Lisbon','drill','attic','4711:81234',0);
INSERT INTO "drill_session" VALUES(6,'0fc8a7b252b44f7a9f3f8297737d337f','2026-07-01 18:00:00.000000','2026-07-01 18:00:00.000000',30,'Etc/UTC','drill','vm','24682:313729',1);
CREATE TABLE gig (
	id INTEGER NOT NULL, 
	uid VARCHAR NOT NULL, 
	title VARCHAR NOT NULL, 
	folded VARCHAR NOT NULL, 
	day DATE NOT NULL, 
	added_at DATETIME NOT NULL, changed_at DATETIME, 
	CONSTRAINT pk_gig PRIMARY KEY (id), 
	CONSTRAINT ck_gig_title CHECK (title <> ''), 
	CONSTRAINT uq_gig_uid UNIQUE (uid), 
	CONSTRAINT uq_gig_folded UNIQUE (folded)
);
INSERT INTO "gig" VALUES(1,'5bda896714f14d7eb4a4a1de58ba07fa','Friday','friday','2026-03-06','2026-03-01 18:00:00.000000','2026-03-02 18:15:00.000000');
CREATE TABLE gig_tune (
	gig_id INTEGER NOT NULL, 
	tune_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	CONSTRAINT pk_gig_tune PRIMARY KEY (gig_id, tune_id), 
	CONSTRAINT ck_gig_tune_position CHECK (position >= 0), 
	CONSTRAINT fk_gig_tune_gig_id FOREIGN KEY(gig_id) REFERENCES gig (id), 
	CONSTRAINT fk_gig_tune_tune_id FOREIGN KEY(tune_id) REFERENCES tune (id)
);
INSERT INTO "gig_tune" VALUES(1,2,0);
INSERT INTO "gig_tune" VALUES(1,1,1);
CREATE TABLE heard (
	attempt_id INTEGER NOT NULL, 
	ear VARCHAR NOT NULL, 
	proposed INTEGER, 
	other INTEGER, 
	features JSON NOT NULL, 
	CONSTRAINT pk_heard PRIMARY KEY (attempt_id), 
	CONSTRAINT ck_heard_ear CHECK (ear IN ('midi', 'microphone')), 
	CONSTRAINT ck_heard_recalls CHECK (proposed BETWEEN 1 AND 4 AND other BETWEEN 1 AND 4), 
	CONSTRAINT fk_heard_attempt_id FOREIGN KEY(attempt_id) REFERENCES attempt (id)
);
INSERT INTO "heard" VALUES(1,'midi',3,NULL,'{"notes": 11, "right": 10}');
INSERT INTO "heard" VALUES(2,'microphone',3,4,'{"notes": 11, "right": 10}');
CREATE TABLE kept_turns (
	card_id INTEGER NOT NULL, 
	rules VARCHAR NOT NULL, 
	attempts INTEGER NOT NULL, 
	undone INTEGER NOT NULL, 
	turns JSON NOT NULL, 
	CONSTRAINT pk_kept_turns PRIMARY KEY (card_id), 
	CONSTRAINT fk_kept_turns_card_id FOREIGN KEY(card_id) REFERENCES card (id) ON DELETE CASCADE
);
INSERT INTO "kept_turns" VALUES(1,'x',1,0,'[["2026-03-01",true]]');
CREATE TABLE phrase (
	id INTEGER NOT NULL, 
	uid VARCHAR NOT NULL, 
	title VARCHAR NOT NULL, 
	folded VARCHAR NOT NULL, 
	"key" VARCHAR NOT NULL, 
	tempo INTEGER NOT NULL, 
	double_time BOOLEAN NOT NULL, 
	key_order VARCHAR NOT NULL, 
	chart JSON NOT NULL, 
	line JSON NOT NULL, 
	analysis JSON, 
	added_at DATETIME NOT NULL, 
	retired_at DATETIME, changed_at DATETIME, restored_at DATETIME, tags JSON DEFAULT '[]' NOT NULL, aside JSON DEFAULT '[]' NOT NULL, former JSON, also JSON DEFAULT '[]' NOT NULL, octave_breaks BOOLEAN DEFAULT 0 NOT NULL, 
	CONSTRAINT pk_phrase PRIMARY KEY (id), 
	CONSTRAINT ck_phrase_title CHECK (title <> ''), 
	CONSTRAINT ck_phrase_tempo CHECK (tempo BETWEEN 20 AND 400), 
	CONSTRAINT uq_phrase_folded UNIQUE (folded), 
	CONSTRAINT uq_phrase_uid UNIQUE (uid)
);
INSERT INTO "phrase" VALUES(1,'ca6e7043e7dd429a9be82d9c33c00ef4','Late kettle','late kettle','Bb',171,1,'fourths','{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","2",["Bb","major-seventh"]],["2","2",["G","dominant"],1]]],"meter":"4/4"}','[["0","1","Eb5"],["1","1","D5"],["2","1","C5"],["3","1","A4"],["4","1","Bb4"]]','{"arpeggios":[],"cautions":[["no guide tone","Bar 2, beat 1: no 3rd or 7th among the chord''s targets.",2]],"chords":[[1,"1",true,["Dorian",[],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["ii","plain"]],[1,"3",true,["Mixolydian",[],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["V","dominant",false,"major"]],[2,"1",true,["Ionian",["Lydian"],"common practice"],["I","plain"]],[2,"3",true,["Mixolydian b13",["Mixolydian b9 b13"],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["V/ii","secondary",true,"minor"]]],"enclosures":[],"implied":[],"notes":[[1,"1",0,"b3",["target","guide tone","chord tone"],false,null,"0"],[1,"2",0,"9",["passing"]],[1,"3",1,"5",["chord tone"]],[1,"4",1,"3",["target","guide tone","chord tone"],false,null,"1"],[2,"1",2,"1",["target","chord tone"],false,null,"0"]],"rules":7,"subdivision":"1"}','2026-03-01 18:00:00.000000',NULL,'2026-07-01 18:00:00.000000',NULL,'["blues","quartet"]','[6]','{"aside":[6],"chart":{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","2",["Bb","major-seventh"]],["2","2",["G","dominant"],1]]],"meter":"4/4"},"double_time":true,"key":"Bb","key_order":"fourths","keys":["Bb","Eb","Ab","Db","Gb","B","E","A","D","G","C","F"],"line":[["0","1","Eb5"],["1","1","D5"],["2","1","C5"],["3","1","A4"],["4","1","Bb4"]],"tags":["blues","quartet"],"tempo":132,"title":"Late kettle"}','["ffd0a5d3c0de4f6fa35c0a51d0b1e0f7"]',0);
INSERT INTO "phrase" VALUES(2,'70de7fc0e47348938f553b07959ccb44','Ça va ‘ñ’ [bold]','ça va ‘ñ’ [bold]','Bb',132,0,'fourths','{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","2",["Bb","major-seventh"]],["2","2",["G","dominant"],1]]],"meter":"4/4"}','[["0","1","Eb5"],["1","1","D5"],["2","1","C5"],["3","1","A4"],["4","1","Bb4"]]','{"arpeggios":[],"cautions":[["no guide tone","Bar 2, beat 1: no guide tone among the chord''s targets.",2]],"chords":[[1,"1",true,["Dorian",[],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["ii","plain"]],[1,"3",true,["Mixolydian",[],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["V","dominant",false,"major"]],[2,"1",true,["Ionian",["Lydian"],"common practice"],["I","plain"]],[2,"3",true,["Mixolydian b13",["Mixolydian b9 b13"],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["V/ii","secondary",true,"minor"]]],"enclosures":[],"implied":[],"notes":[[1,"1",0,"b3",["target","guide tone","chord tone"],false,null,"0"],[1,"2",0,"9",["passing"]],[1,"3",1,"5",["chord tone"]],[1,"4",1,"3",["target","guide tone","chord tone"],false,null,"1"],[2,"1",2,"1",["target","chord tone"],false,null,"0"]],"rules":6,"subdivision":"1"}','2026-03-01 18:00:05.000000',NULL,NULL,'2026-03-01 12:30:00.000000','[]','[]',NULL,'[]',1);
INSERT INTO "phrase" VALUES(3,'96e4cbba70434181b90c165df0026a82','Blue door; --','blue door; --','Bb',132,0,'fourths','{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","2",["Bb","major-seventh"]],["2","2",["G","dominant"],1]]],"meter":"4/4"}','[["0","1","Eb5"],["1","1","D5"],["2","1","C5"],["3","1","A4"],["4","1","Bb4"]]','{"arpeggios":[],"cautions":[["no guide tone","Bar 2, beat 1: no guide tone among the chord''s targets.",2]],"chords":[[1,"1",true,["Dorian",[],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["ii","plain"]],[1,"3",true,["Mixolydian",[],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["V","dominant",false,"major"]],[2,"1",true,["Ionian",["Lydian"],"common practice"],["I","plain"]],[2,"3",true,["Mixolydian b13",["Mixolydian b9 b13"],"Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"],["V/ii","secondary",true,"minor"]]],"enclosures":[],"implied":[],"notes":[[1,"1",0,"b3",["target","guide tone","chord tone"],false,null,"0"],[1,"2",0,"9",["passing"]],[1,"3",1,"5",["chord tone"]],[1,"4",1,"3",["target","guide tone","chord tone"],false,null,"1"],[2,"1",2,"1",["target","chord tone"],false,null,"0"]],"rules":6,"subdivision":"1"}','2026-03-01 18:00:05.000000','2026-03-03 18:00:00.000000',NULL,NULL,'[]','[]',NULL,'[]',0);
CREATE TABLE "setting" (
	id INTEGER NOT NULL, 
	name VARCHAR NOT NULL, 
	value JSON, 
	changed_at DATETIME, 
	CONSTRAINT pk_setting PRIMARY KEY (id), 
	CONSTRAINT uq_setting_name UNIQUE (name)
);
INSERT INTO "setting" VALUES(1,'minutes',30,'2026-03-01 17:00:00.000000');
INSERT INTO "setting" VALUES(2,'order','"fifths"',NULL);
INSERT INTO "setting" VALUES(3,'retention',0.85,NULL);
INSERT INTO "setting" VALUES(4,'loops',NULL,'2026-03-01 17:10:00.000000');
CREATE TABLE tune (
	id INTEGER NOT NULL, 
	uid VARCHAR NOT NULL, 
	title VARCHAR NOT NULL, 
	folded VARCHAR NOT NULL, 
	"key" VARCHAR NOT NULL, 
	tempo INTEGER NOT NULL, 
	chart JSON NOT NULL, 
	form VARCHAR NOT NULL, 
	tags JSON NOT NULL, 
	added_at DATETIME NOT NULL, also JSON DEFAULT '[]' NOT NULL, changed_at DATETIME, 
	CONSTRAINT pk_tune PRIMARY KEY (id), 
	CONSTRAINT ck_tune_title CHECK (title <> ''), 
	CONSTRAINT ck_tune_tempo CHECK (tempo BETWEEN 20 AND 400), 
	CONSTRAINT uq_tune_uid UNIQUE (uid), 
	CONSTRAINT uq_tune_folded UNIQUE (folded)
);
INSERT INTO "tune" VALUES(1,'c37b408b868b4ca88f2a287049cb0ce4','Tram to the lake','tram to the lake','Bb',168,'{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","4",["Bb","major-seventh"]]],[["0","2",["A","half-diminished"]],["2","2",["D","dominant"]]],[["0","4",["G","minor-sixth"]]],[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","4",["Bb","major-seventh"]]]],"meter":"4/4"}','A4 coda2','["quartet"]','2026-03-01 18:00:00.000000','[]','2026-03-08 19:30:00.000000');
INSERT INTO "tune" VALUES(2,'382b483aac4442d6b657613d34b65505','Salt and slate','salt and slate','Bb',168,'{"bars":[[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","4",["Bb","major-seventh"]]],[["0","2",["A","half-diminished"]],["2","2",["D","dominant"]]],[["0","4",["G","minor-sixth"]]],[["0","2",["C","minor-seventh"]],["2","2",["F","dominant"]]],[["0","4",["Bb","major-seventh"]]]],"meter":"4/4"}','A4 coda2','[]','2026-03-01 18:00:00.000000','["ffe1b6e4d1ef507fb46d1b62e1c2f108"]',NULL);
CREATE INDEX ix_drill_session_open ON drill_session (started_at) WHERE ended_at IS NULL;
CREATE INDEX ix_card_due ON card (due_day, phrase_id) WHERE due_day IS NOT NULL;
CREATE INDEX ix_card_opened ON card (opened_day) WHERE opened_day IS NOT NULL;
CREATE INDEX ix_attempt_card ON attempt (card_id, day, recall) WHERE undone_at IS NULL;
CREATE INDEX ix_attempt_day ON attempt (day, card_id, recall) WHERE undone_at IS NULL;
CREATE INDEX ix_gig_tune_tune_id ON gig_tune (tune_id);
CREATE INDEX ix_card_aside ON card (put_aside) WHERE put_aside;
CREATE INDEX ix_card_pick ON card (phrase_id, position, quarters, tempo, stability, difficulty, last_day, due_day, days_clean, days_missed, clean_run, stride, owned, "key");
COMMIT;

"""What runs on the board on the tool's behalf, as text. It leaves its answer in `answer`."""

# Straight from the board file, so that it works whatever state the firmware is in.
PUMPS_OFF = """
import sys
try:
 sys.modules['potreeve.hal'].pumps_off()
except Exception: pass
try:
 import json
 from machine import Pin
 with open('/board.json') as f: p=json.load(f)['pins']
 for n in [p['pump_enable']]+p['pumps']:
  try:
   if n>=0: Pin(n,Pin.OUT,value=0)
  except Exception: pass
except Exception: pass
"""

# Bit 30 of the watchdog's control register: enabled (RP2040 data sheet 4.7.6; hardware notes).
LOOK = """
import sys,os,gc,machine
i=sys.implementation
answer={'name':i.name,'version':list(i.version[:3]),'machine':getattr(i,'_machine',''),'build':getattr(i,'_build',''),'mpy':getattr(i,'_mpy',0)&1023,'platform':sys.platform}
try: answer['id']=''.join(['%02x'%b for b in machine.unique_id()])
except Exception: answer['id']=''
try:
 s=os.statvfs('/')
 answer['flash_bytes']=s[0]*s[2]
 answer['free_bytes']=s[0]*s[3]
except Exception: answer['flash_bytes']=answer['free_bytes']=0
f=os.listdir('/')
answer['main']='main.py' in f or 'main.mpy' in f
answer['firmware']='potreeve' in f
answer['board']=None
try:
 import json
 with open('/board.json') as g: answer['board']=json.load(g).get('name')
except Exception: pass
s=sys.modules.get('potreeve.service')
answer['serving']=bool(s is not None and s.active())
w=None
try:
 if sys.platform=='rp2': w=bool(machine.mem32[0x400d8000 if 'RP2350' in answer['machine'] else 0x40058000]&(1<<30))
except Exception: pass
# A board that waits for a person feeds it itself; see firmware/main.py.
answer['watchdog']=bool(w and not globals().get('fed')) if w is not None else None
gc.collect()
answer['free_heap']=gc.mem_free()
"""

HELPERS = """
import os,json,hashlib
from binascii import a2b_base64 as _a,b2a_base64 as _b
def _hash(n):
 h=hashlib.sha256()
 b=bytearray(512)
 v=memoryview(b)
 try:
  with open(n,'rb') as f:
   while 1:
    k=f.readinto(b)
    if not k: break
    h.update(v[:k])
 except OSError: return None
 return ''.join(['%02x'%c for c in h.digest()])
def _begin(n):
 global _f
 p=n.split('/')
 for k in range(1,len(p)):
  try: os.mkdir('/'.join(p[:k]))
  except OSError: pass
 _f=open(n+'.tmp','wb')
def _end(n,h):
 _f.close()
 if _hash(n+'.tmp')!=h: return False
 os.rename(n+'.tmp',n)
 try: os.sync()
 except AttributeError: pass
 return True
def _drop(n):
 try: _f.close()
 except OSError: pass
 try: os.remove(n+'.tmp')
 except OSError: pass
def _give(n,at,most):
 with open(n,'rb') as f:
  f.seek(at)
  while most>0:
   d=f.read(768 if most>768 else most)
   if not d: break
   most-=len(d)
   print(_b(d).decode(),end='')
def _walk(p,out):
 for e in os.ilistdir(p or '/'):
  n=p+'/'+e[0] if p else e[0]
  if e[1]==0x4000: _walk(n,out)
  else: out[n]=e[3]
 return out
"""

# Without the firmware's own code, which a Ctrl-C may have left half imported; see firmware/potreeve/service.py.
ASK_SERVICE = """
import os
try: os.mkdir('/data')
except OSError: pass
with open('/data/service.tmp','wb') as f: f.write(b'asked')
os.rename('/data/service.tmp','/data/service')
"""

RESET = "import machine\nmachine.reset()"
TOUCH = "import potreeve.service as _s;_s.touch()\n"
LEAVE = "from potreeve import service\nservice.leave()"

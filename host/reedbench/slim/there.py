"""Names that MicroPython itself has on a Pico or a Pico 2, as a board tells them.

`dir` of each module on it and of every type in them. They take no memory, so others of ours can go by those that we
have no use for; and what we have in common with MicroPython, `append` say, stands here and keeps its name.
`tests/emulated/test_names.py` asks a board whether it still knows each, and no other.
"""

_NAMES = """
a2b_base64 abs aclose acos acosh acquire active ADC add add_program addressof aes all alloc_emergency_exception_buf
allocate_lock ALT ALT_GPCK ALT_I2C ALT_PIO0 ALT_PIO1 ALT_PWM ALT_SIO ALT_SPI ALT_UART ALT_USB any append appendleft argv
ArithmeticError ARRAY array asin asinh asm_pio asm_pio_encode AssertionError asyncio atan atan2 atanh AttributeError
AUTO awrite awritestr b2a_base64 BaseException BF_LEN BF_POS BFINT16 BFINT32 BFINT8 BFUINT16 BFUINT32 BFUINT8 BIG_ENDIAN
bin binascii bitstream blit board bool bootloader bootsel_button BUILTIN_CDC BUILTIN_DEFAULT BUILTIN_NONE builtins
bytearray bytearray_at byteorder bytes bytes_at BytesIO calcsize call_exception_handler callable CancelledError ceil
center chdir choice chr classmethod clear close cmath collect collections compile complex config const convert_temp copy
copysign core CORE_TEMP cos cosh count cpu crc32 crc8 create_task cryptolib CTS cur_task current_task datetime decode
decrypt deepsleep default_exception_handler deflate DeflateIO degrees deinit delattr delay deleter deque dht DHT11 DHT22
dht_readinto DHTBase dict difference difference_update digest dir disable disable_irq discard divmod DMA drain DS18X20
ds18x20 dump dumps dupterm dupterm_notify duty_ns duty_u16 EACCES EADDRINUSE EAGAIN EALREADY EBADF ECONNABORTED
ECONNREFUSED ECONNRESET EEXIST EHOSTUNREACH EINPROGRESS EINVAL EIO EISDIR ellipse Ellipsis enable enable_irq encode
encrypt endswith ENOBUFS ENODEV ENOENT ENOMEM ENOTCONN enumerate EOFError EOPNOTSUPP EPERM erf erfc errno errorcode
ETIMEDOUT eval Event event Exception exec execfile exit exp expm1 extend fabs factorial feed fill fill_rect filter find
Flash float FLOAT32 FLOAT64 floor flush fmod format framebuf FrameBuffer FrameBuffer1 freq frexp from_bytes fromhex
fromkeys frozenset funcs gamma gather gc GeneratorExit get get_event_loop get_exception_handler get_extra_info get_ident
getattr getcwd getrandbits getter getvalue globals gmtime GS2_HMSB GS4_HMSB GS8 GZIP hasattr hash hashlib heap_lock
heap_unlock heapify heappop heappush heapq help hex hexlify high hline humidity I2C I2CTarget I2S id idle ilistdir
implementation ImportError IN in_ IN_HIGH IN_LOW IndentationError index IndexError inf init input insert INT int INT16
INT32 INT64 INT8 intersection intersection_update INV_RX INV_TX io IOBase ioctl IOQueue irq IRQ_ADDR_MATCH_READ
IRQ_ADDR_MATCH_WRITE IRQ_BREAK IRQ_END_READ IRQ_END_WRITE IRQ_FALLING IRQ_READ_REQ IRQ_RISING IRQ_RXIDLE IRQ_SM0 IRQ_SM1
IRQ_SM2 IRQ_SM3 IRQ_TXIDLE IRQ_WRITE_REQ is_set isalpha isclose isdigit isdisjoint isenabled isfinite isinf isinstance
islower isnan isspace issubclass issubset issuperset isupper items iter jmp join JOIN_NONE JOIN_RX JOIN_TX json kbd_intr
KeyboardInterrupt KeyError keys label ldexp len lgamma libc_ver lightsleep line list listdir LITTLE_ENDIAN load loads
locals localtime Lock lock locked LockType log log10 log2 LONG LONGLONG LookupError Loop low lower LSB lstrip machine
map match MATCH_ROM math max maxsize md5 measure mem16 mem32 mem8 mem_alloc mem_free mem_info MemoryError memoryview
micropython min mkdir mkfs mktime modf modules MONO MONO_HLSB MONO_HMSB MONO_VLSB mount mov MSB MVLSB namedtuple
NameError nan NATIVE NeoPixel neopixel new_event_loop next nop NotImplemented NotImplementedError object oct off on
ONE_SHOT OneWire onewire OneWireError open open_connection OPEN_DRAIN opt_level ord ORDER OrderedDict os OSError OUT out
OUT_HIGH OUT_LOW OverflowError pack pack_ctrl pack_into partition path peek PERIODIC phase pi Pin PIO PIOASMEmit
PIOASMError pixel platform polar poll POLLERR POLLHUP POLLIN POLLOUT poly pop popitem popleft pow print print_exception
property ps1 ps2 PTR pull PULL_DOWN PULL_UP push put PWM PWRON_RESET python_compiler qstr_info queue_read queue_write
radians randint random randrange range RAW re read read_scratch read_temp read_u16 readbit readblocks readbyte
readexactly readfrom readfrom_into readfrom_mem readfrom_mem_into readinto readline rect release remote_wakeup remove
remove_program rename replace repr reset reset_cause restart reverse reversed rfind RGB565 rindex RingIO rmdir round rp2
rpartition rsplit rstrip RTC RTS run run_forever run_until_complete RuntimeError RX rx_fifo scan schedule scroll search
SEARCH_ROM seed seek select select_rom sendbreak sep Server set set_exception_handler setattr setdefault setter sha1
sha256 shift SHIFT_LEFT SHIFT_RIGHT SHORT side Signal sin SingletonGenerator sinh sizeof SKIP_ROM sleep sleep_ms
sleep_us slice soft_reset SoftI2C SoftSPI sort sorted SPI split splitlines sqrt stack_size stack_use stall start
start_new_thread start_pass start_server startswith stat state_machine StateMachine staticmethod statvfs stderr stdin
stdout STEREO stop StopAsyncIteration StopIteration str Stream stream stream_awrite StreamReader StreamWriter StringIO
strip struct sub submit_xfer sum super symmetric_difference symmetric_difference_update sync SyntaxError sys SystemExit
tan tanh Task TaskQueue tau tell temperature text ThreadSafeFlag threshold ticks ticks_add ticks_cpu ticks_diff ticks_ms
ticks_us time time_ns time_pulse_us TimeoutError Timer to_bytes toggle trunc tuple TX tx_fifo txdone type TypeError UART
uasyncio uctypes UINT UINT16 UINT32 UINT64 UINT8 ULONG ULONGLONG umount uname unhexlify UnicodeError uniform union
unique_id unlink unpack unpack_ctrl unpack_from update upper urandom USBDevice USHORT value ValueError values version
version_info vfs VfsFat VfsLfs2 ViperTypeError vline VOID wait wait_closed wait_for wait_for_ms wait_io_event WDT
WDT_RESET word wrap wrap_target write write_readinto write_scratch writebit writeblocks writebyte writeto writeto_mem
writevto ZeroDivisionError zip ZLIB
"""
THERE = frozenset(_NAMES.split())
# Names that MicroPython may look for by itself in an object of ours, a file's or a flash's: none is given anew.
_LOOKED_FOR = "close flush ioctl keys read readinto readline seek send tell throw write"
LOOKED_FOR = frozenset(_LOOKED_FOR.split())
FREE = sorted(THERE - LOOKED_FOR)
